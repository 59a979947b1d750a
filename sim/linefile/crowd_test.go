package linefile_test

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"

	"looptone/sim"
	"looptone/sim/linefile"
)

// deviceText describes a device at a polling address, tagged T-1 and so on.
func deviceText(polling int, keys string) string {
	return fmt.Sprintf(`[[device]]
tag = "T-%d"
polling = %d
kind = "gauge"
loop_current_mode = "fixed"
sensor = { lower = 0.0, upper = 250.0, unit = "kPa" }
process = { model = "constant", value = 50.0 }
%s
`, polling, polling, keys)
}

// crowd describes n devices that are alike.
func crowd(line string, n int, keys string) string {
	text := "[line]\nname = \"Crowd\"\n" + line + "\n"
	for i := range n {
		text += deviceText(i+1, keys)
	}
	return text
}

// reported has what happens on a line noted, with its time in seconds.
func reported(a *linefile.Assembly) *[]string {
	var list []string
	a.Report = func(at sim.Tick, did string, err error) {
		if err != nil {
			did = "not done: " + err.Error()
		}
		list = append(list, fmt.Sprintf("%g %s", at.Seconds(), did))
	}
	a.News = func(at sim.Tick, news string) { a.Report(at, news, nil) }
	return &list
}

func wantReports(t *testing.T, got *[]string, want ...string) {
	t.Helper()
	if diff := cmp.Diff(want, *got); diff != "" {
		t.Errorf("reports: want -, got +:\n%s", diff)
	}
	*got = nil
}

// answering are the polling addresses that answer.
func answering(t *testing.T, a *linefile.Assembly, to uint8) (list []int) {
	t.Helper()
	for _, f := range scan(t, a, 0, to) {
		list = append(list, int(f.Polling))
	}
	return list
}

// upTo are the numbers from 1 to n.
func upTo(n int) (list []int) {
	for i := range n {
		list = append(list, i+1)
	}
	return list
}
