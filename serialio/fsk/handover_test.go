package fsk_test

import (
	"fmt"
	"testing"
)

// One carrier follows another without a gap, with a clock, a phase and a level of its own:
// all characters of both are heard.
func TestHandover(t *testing.T) {
	for _, level := range []float64{0.5, 0.8, 1, 1.25} {
		t.Run(fmt.Sprint(level), func(t *testing.T) {
			for seed := range uint64(8) {
				r := seeded(seed)
				one := &talk{at: 0.02, lead: 3, tail: 2 + 2*r.Float64(), chars: message(r, 15), amplitude: 0.5, clock: 0.008}
				two := &talk{at: one.end(), lead: 2 + 3*r.Float64(), tail: 4, chars: message(r, 15), amplitude: 0.5 * level, phase: 6 * r.Float64(), clock: -0.008}
				samples, want := render(48000, two.end()+0.05, one, two)
				expectAll(t, want, hear(48000, narrow(samples), 4096))
			}
		})
	}
}
