package view

import (
	"encoding/json"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"looptone/serialio/modemcheck"
)

// modemReport is a test of two ports, of which one way is in order and the other is not.
// The numbers are invented.
func modemReport() *modemcheck.Report {
	there := &modemcheck.Way{
		From: "A", To: "B", Timing: modemcheck.Timing{Marks: true},
		Sent: 1000, Heard: 995, Values: 256, Lost: 1, Wrong: 2, Parity: 1,
		Stray:     modemcheck.Stray{On: 2, Inside: 1},
		Swallowed: modemcheck.Swallowed{Preambles: 7, Messages: 3, Most: 4},
		Messages:  modemcheck.Messages{Sent: 10, Whole: 6, Damaged: 3, Lost: 1, Apart: 4, Joined: 1},
		Gaps:      modemcheck.Gaps{Count: 1, Longest: 12 * time.Millisecond, Seen: 9},
		Delay:     modemcheck.Delay{Messages: 9, Late: 2, Least: 3 * time.Millisecond, Most: 40 * time.Millisecond},
		Carrier:   modemcheck.Carrier{On: modemcheck.CarrierEdge{Messages: 9, Late: 1, Longest: 6 * time.Millisecond}},
	}
	back := &modemcheck.Way{
		From: "B", To: "A", Timing: modemcheck.Timing{Marks: true},
		Sent: 500, Heard: 500, Values: 256,
		Messages: modemcheck.Messages{Sent: 5, Whole: 5},
		Delay:    modemcheck.Delay{Messages: 5, Least: time.Millisecond, Most: 2 * time.Millisecond},
	}
	return &modemcheck.Report{Hookup: modemcheck.TwoPorts, Seed: 7, Took: 15500 * time.Millisecond, Ways: []*modemcheck.Way{there, back}}
}

func TestModemText(t *testing.T) {
	want, err := os.ReadFile("testdata/modem.txt")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), Modem(modemReport())); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// TestModemAnswers: what is said first, by what was found.
func TestModemAnswers(t *testing.T) {
	inOrder, nothing := modemReport(), modemReport()
	inOrder.Ways = inOrder.Ways[1:]
	nothing.Ways = nil
	for want, r := range map[string]*modemcheck.Report{
		"Everything that could be measured is in order.": inOrder,
		"Nothing could be measured.":                     nothing,
	} {
		if got := strings.Split(Modem(r), "\n")[2]; got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

// TestModemJSON: the test, each way, each verdict in their order, and what was not seen
// is null.
func TestModemJSON(t *testing.T) {
	r := modemReport()
	lines := strings.Split(strings.TrimSpace(string(AppendModem(nil, r))), "\n")
	verdicts := r.Verdicts()
	if len(lines) != 1+len(r.Ways)+len(verdicts) {
		t.Fatalf("%d lines of %d ways and %d verdicts", len(lines), len(r.Ways), len(verdicts))
	}
	if want := `{"test":"two ports","seed":7,"in_order":false,"took":15.5}`; lines[0] != want {
		t.Errorf("got %s, want %s", lines[0], want)
	}
	for i, line := range lines[1+len(r.Ways):] {
		var got struct {
			Limit, From, To, Verdict string
			Got                      *float64
		}
		if err := json.Unmarshal([]byte(line), &got); err != nil {
			t.Fatalf("%v: %s", err, line)
		}
		v := &verdicts[i]
		if got.Limit != v.Name || got.From != v.From || got.Verdict != v.Finding.String() || (got.Got == nil) != (v.Unit == "") {
			t.Errorf("got %s of %+v", line, v)
		}
	}
	for i, want := range []string{
		`{"from":"A","to":"B","characters":{"sent":1000,"values":256,"heard":995,"lost":1,"wrong":2,"extra":3},"extra":{"before":2,"behind":0,"between":0,"within":1,"silence":0},"messages":{"sent":10,"whole":6,"damaged":3,"lost":1,"apart":4,"joined":1},"swallowed":{"preambles":7,"messages":3,"most":4},"parity_errors":1,"framing_errors":0,"gaps":1,"longest_gap":0.012,"late":2,"least_delay":0.003,"most_delay":0.04}`,
		`{"from":"B","to":"A","characters":{"sent":500,"values":256,"heard":500,"lost":0,"wrong":0,"extra":0},"extra":{"before":0,"behind":0,"between":0,"within":0,"silence":0},"messages":{"sent":5,"whole":5,"damaged":0,"lost":0,"apart":0,"joined":0},"swallowed":{"preambles":0,"messages":0,"most":0},"parity_errors":0,"framing_errors":0,"gaps":null,"longest_gap":null,"late":0,"least_delay":0.001,"most_delay":0.002}`,
	} {
		if lines[1+i] != want {
			t.Errorf("got\n%s\nwant\n%s", lines[1+i], want)
		}
	}
}
