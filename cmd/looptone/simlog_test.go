package main

import (
	"io"
	"strings"
	"testing"

	"looptone/frame"
	"looptone/sim"
)

// logOf is what is logged of a burst, without the first and the last object.
func logOf(t *testing.T, b *sim.Burst) string {
	t.Helper()
	var out strings.Builder
	line := sim.NewLine(1)
	log := newLineLog(&out, `"Quillmere"`, 1<<64-1)
	seat := line.Join(quietStation{})
	seat.Name = "LT-103"
	log.carrier(seat, b)
	log.end(60 * sim.Second)
	lines := strings.SplitAfter(out.String(), "\n")
	if len(lines) != 4 || lines[0] != `{"line":"\"Quillmere\"","seed":18446744073709551615,"ticks_per_second":6000000}`+"\n" ||
		lines[2] != `{"end":360000000}`+"\n" {
		t.Fatalf("the log is\n%s", out.String())
	}
	return lines[1]
}

// quietStation is a station that says nothing.
type quietStation struct{}

func (quietStation) Step(sim.Tick, []sim.Heard) (*sim.Burst, sim.Tick) { return nil, sim.Never }

func TestLogOfACarrier(t *testing.T) {
	for name, tt := range map[string]struct {
		burst sim.Burst
		want  string
	}{
		"one right behind the other": {
			sim.Burst{At: 1000, Lead: 25000, Tail: 15000, Chars: []byte{0xff, 0x0a}},
			`{"talker":"LT-103","on":1000,"off":151000,"level":0.5,"characters":[["ff",26000,81000],["0a",81000,136000]]}`,
		},
		"a pause, and a weak signal": {
			sim.Burst{Lead: 5, Level: 0.1, Chars: []byte{1, 2}, Pauses: []sim.Pause{{Before: 1, For: 7}}},
			`{"talker":"LT-103","on":0,"off":110012,"level":0.1,"characters":[["01",5,55005],["02",55012,110012]]}`,
		},
		"wrong parity, no stop bit, both": {
			sim.Burst{Chars: []byte{1, 2, 3, 4}, Marks: []frame.MarkAt{
				{Pos: 0, Mark: frame.Parity}, {Pos: 2, Mark: frame.Framing}, {Pos: 3, Mark: frame.Parity | frame.Framing}}},
			`{"talker":"LT-103","on":0,"off":220000,"level":0.5,"characters":[["01",0,55000,"p"],["02",55000,110000],["03",110000,165000,"f"],["04",165000,220000,"pf"]]}`,
		},
		"a slow clock": {
			sim.Burst{Chars: []byte{1, 2}, PPM: 10_000},
			`{"talker":"LT-103","on":0,"off":111100,"level":0.5,"characters":[["01",0,55550],["02",55550,111100]]}`,
		},
		"a carrier alone": {
			sim.Burst{At: 7, Lead: 1, Tail: 2},
			`{"talker":"LT-103","on":7,"off":10,"level":0.5,"characters":[]}`,
		},
	} {
		if got := logOf(t, &tt.burst); got != tt.want+"\n" {
			t.Errorf("%s: got\n%swant\n%s", name, got, tt.want)
		}
	}
}

// The price of a character in the log, a day after the beginning.
func BenchmarkLog(b *testing.B) {
	line := sim.NewLine(1)
	log := newLineLog(io.Discard, "bench", 1)
	seat := line.Join(quietStation{})
	seat.Name = "LT-103"
	burst := &sim.Burst{At: 86400 * sim.Second, Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: make([]byte, 30)}
	written := len(`["ff",518400025000,518400080000],`) * len(burst.Chars)
	b.SetBytes(int64(written))
	for b.Loop() {
		log.carrier(seat, burst)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(burst.Chars)), "ns/char")
}
