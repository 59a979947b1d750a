package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/master"
)

// polled polls a line in line time and gives what it showed as JSON lines and said.
func polled(t *testing.T, o pollOptions, text string) (shown []map[string]any, said string, err error) {
	t.Helper()
	o.fast, o.json = true, true
	if err := o.parse(); err != nil {
		t.Fatal(err)
	}
	h := hostOn(t, text)
	defer h.Close()
	p := newPolling(&o, h)
	defer p.vigil.Close()
	var out, told bytes.Buffer
	err = p.run(t.Context(), nil, &out, &told)
	for line := range strings.Lines(out.String()) {
		var object map[string]any
		if err := json.Unmarshal([]byte(line), &object); err != nil {
			t.Fatalf("%v: %s", err, line)
		}
		shown = append(shown, object)
	}
	return shown, told.String(), err
}

// Whatever goes wrong, each reading is told once and counted once, for its device
// and in total; and what was told is what was counted.
func TestPollCountsWhatItTells(t *testing.T) {
	const trouble = `
[[fault]]
kind = "no reply"
device = "TT-1"
probability = 0.3
[[fault]]
kind = "bit errors"
bit_error_rate = 0.001
[[at]]
time = "60s"
mute = "TT-2"
[[at]]
time = "120s"
unmute = "TT-2"
`
	o := pollOptions{retries: 2, devices: []string{"1", "2", "3"}, commands: []string{"3", "1"}, asks: []string{"TT-3:48:5s"}}
	o.length.span = 5 * time.Minute
	shown, _, err := polled(t, o, thermometers(3, trouble))
	if err != nil {
		t.Fatal(err)
	}
	told := map[string]float64{} // "device command outcome", "device * outcome" and "* * outcome"
	tallies := 0
	for _, s := range shown {
		if s["event"] == "reading" {
			for _, key := range []string{fmt.Sprint(s["device"], " ", s["command"]), fmt.Sprint(s["device"], " <nil>"), "<nil> <nil>"} {
				told[fmt.Sprint(key, " ", s["outcome"])]++
			}
			continue
		}
		tallies++
		key := fmt.Sprint(s["device"], " ", s["command"])
		sum := 0.0
		for _, outcome := range []string{"answered", "damaged", "silent", "busy"} {
			n := s[outcome].(float64)
			sum += n
			if got := told[key+" "+outcome]; got != n {
				t.Errorf("%s: %g counted as %s, %g told", key, n, outcome, got)
			}
		}
		if underWay := s["under_way"].(float64); s["asked"] != sum+underWay || underWay < 0 || underWay > 1 {
			t.Errorf("%s: asked %v, %g ended, %g are under way", key, s["asked"], sum, underWay)
		}
	}
	if want := 3 + 3 + 2*3 + 1 + 1; tallies != want { // who it is, the devices, the commands, --ask, all
		t.Errorf("%d tallies, want %d: %v", tallies, want, shown[len(shown)-tallies:])
	}
	for _, outcome := range []string{"answered", "damaged", "silent"} {
		if told["<nil> <nil> "+outcome] == 0 {
			t.Errorf("nothing was %s: the trouble does not strike", outcome)
		}
	}
}

// Where the line has a primary master of its own, the poll is the secondary one.
func TestPollTakesThePlaceThatIsFree(t *testing.T) {
	a := hostOn(t, thermometers(1, "[[master]]\nkind = \"primary\"\n")).assembly
	defer a.Close()
	for _, tt := range []struct {
		master  string
		primary bool
		refused bool
	}{{"", false, false}, {"secondary", false, false}, {"primary", false, true}} {
		primary, err := (&hostFlags{master: tt.master}).primaryOn(a)
		if primary != tt.primary || (err != nil) != tt.refused {
			t.Errorf("--master %q: got primary %v, %v", tt.master, primary, err)
		}
	}
}

// Of the turns that were taken late the first is told, and all are counted.
func TestLateTurnsAreToldOnce(t *testing.T) {
	var out, told bytes.Buffer
	o := pollOptions{fast: true, json: true}
	p := newPolling(&o, hostOn(t, thermometers(1, "")))
	p.poll.Queries, p.begun = []master.Query{{Command: 1}}, true
	p.show = newPollLines(&o, func() {}, &out, &told)
	for _, by := range []time.Duration{20, 31, 25} {
		p.vigil.late(by * time.Millisecond)
	}
	if err := p.show.end(p.counted()); err != nil {
		t.Fatal(err)
	}
	if want := "turn taken late by 20 ms: another master may have taken it meanwhile; more are only counted\n"; told.String() != want {
		t.Errorf("got %q, want %q", told.String(), want)
	}
	if want := `"late_turns":3,"latest_turn":0.031}` + "\n"; !strings.HasSuffix(out.String(), want) {
		t.Errorf("got %s, want an end of %s", out.String(), want)
	}
}

// An intruder asks polling address 9 as a primary master, at a moment, whoever else
// is one.
type intruder struct{ at sim.Tick }

func (s *intruder) Step(now sim.Tick, _ []sim.Heard) (*sim.Burst, sim.Tick) {
	if now < s.at {
		return nil, s.at
	}
	s.at = sim.Never
	request := frame.Frame{Kind: frame.STX, Address: frame.Polling(9), Primary: true}
	chars, _ := request.AppendBinary(frame.AppendPreambles(nil, 5))
	return &sim.Burst{At: now, Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: chars}, sim.Never
}

// A master that goes on polling after another has taken its bit stops, says so, and
// shows what it has counted.
func TestPollStopsForARival(t *testing.T) {
	h := hostOn(t, thermometers(1, ""))
	h.assembly.Line.Join(&intruder{at: 20 * sim.Second})
	o := pollOptions{fast: true, devices: []string{"1"}}
	o.length.span, o.every.span = time.Minute, 5*time.Second // which leaves the line silent for the other one
	if err := o.parse(); err != nil {
		t.Fatal(err)
	}
	p := newPolling(&o, h)
	defer p.vigil.Close()
	var out bytes.Buffer
	err := p.run(t.Context(), nil, &out, io.Discard)
	if !errors.Is(err, master.ErrRival) || !strings.Contains(out.String(), "all together in ") {
		t.Errorf("got %v and\n%s", err, out.String())
	}
}
