package sim

import (
	"math"
	"math/cmplx"
	"testing"

	"looptone/frame"
)

// What two correlators make of a voice is the integral of its tones, added up here in
// steps of a tick, with a phase that goes on from one to the next. Edges are at whole
// ticks, which costs a little of the phase.
//
// Source: Texas Instruments application note SLAAEH0 (Nov 2023), 1.5.2 (1200 and 2200 Hz,
// the phase continuous).
func TestVoice(t *testing.T) {
	const level = 0.3
	b := &Burst{At: 1000, Lead: 5*Bit + 77, Tail: 3 * Bit, Chars: []byte{0xff, 0x5a, 0x00}, PPM: 700,
		Marks: []frame.MarkAt{{Pos: 1, Mark: frame.Parity}, {Pos: 2, Mark: frame.Framing}}, Pauses: []Pause{{Before: 1, For: 2*Bit + 333}}}
	seat := &Seat{Name: "PT-1"}
	v := voiceOf(talk{seat: seat, burst: b, level: level}, 5)
	phase := beginning(5, seat, b)
	samples := make([]float64, b.Off()+Bit)
	for now := b.At; now < b.Off(); now++ {
		hz := 2200.0
		if b.valueAt(now) {
			hz = 1200
		}
		step := 2 * math.Pi * hz / float64(Second) / (1 + 700e-6)
		samples[now] = level * math.Sin(phase+step/2)
		phase += step
	}
	for from := Tick(0); from+Bit < Tick(len(samples)); from += 1234 {
		var got, want [2]complex128
		v.addTo(&got, from, from+Bit)
		for i := range Bit {
			for tone, hz := range []float64{2200, 1200} {
				turn := 2 * math.Pi * hz * (float64(i-Bit/2) + 0.5) / float64(Second)
				want[tone] += complex(2*samples[from+i], 0) * cmplx.Exp(complex(0, -turn))
			}
		}
		for tone := range got {
			if d := cmplx.Abs(got[tone] - want[tone]); d > 5e-3*level*float64(Bit) {
				t.Fatalf("from %d, tone %d: got %.1f, want %.1f", from, tone, got[tone], want[tone])
			}
		}
	}
}

// A phase is by the name of the talker and the moment alone: who else is there does not
// matter.
func TestPhaseOfATalker(t *testing.T) {
	phase := func(seed uint64, name string, at Tick, others int) float64 {
		l := NewLine(seed)
		for range others {
			l.Join(&tape{})
		}
		s := l.Join(&tape{})
		s.Name = name
		return l.Phase(s, &Burst{At: at})
	}
	want := phase(1, "PT-1", Second, 0)
	if got := phase(1, "PT-1", Second, 3); got != want {
		t.Errorf("beside three others, %v rad, want %v", got, want)
	}
	for _, got := range []float64{phase(2, "PT-1", Second, 0), phase(1, "PT-2", Second, 0), phase(1, "PT-1", Second+1, 0), phase(1, "", Second, 0)} {
		if got == want || got < 0 || got >= 2*math.Pi {
			t.Errorf("got %v rad, want another one than %v, from 0 to 2π", got, want)
		}
	}
	if one, two := phase(1, "", Second, 0), phase(1, "", Second, 1); one == two {
		t.Errorf("two without a name have the same, %v rad", one)
	}
}
