package fsk_test

import (
	"fmt"
	"math"
	"testing"
)

// Conditions are what a file can have against it. Amplitudes are in volts over the
// resistor of a loop: tones of 0.25 V, which is 1 mA in 250 ohm, peak to peak.
type conditions struct {
	clock float64 // error of the clock of every other station; that of the others is its opposite
	sway  float64 // volts peak to peak of a movement with 25 Hz about 2.5 V
	rc    float64 // seconds: time constant of the cable
	gap   float64 // seconds in which no carrier is on, between two messages
	step  float64 // volts from one value of a sample to the next; 0 for as fine as can be
}

const (
	toneVolts = 0.25
	loopSwing = 4.0       // 16 mA, which is 32 times the ±0.5 mA of the tones
	longCable = 65e-6     // the most that a network may have. Source: Siemens SITRANS LC500 7ML19985GE01, p.24
	scopeStep = 5.0 / 256 // 8 bits over 5 V
	shortGap  = 0.02
)

var fileRates = []float64{9600, 19200, 44100, 48000, 96000, 192000}

// make makes a file of five messages in turn by two stations.
func (c conditions) make(rate float64, seed uint64) (samples []float32, want []sent) {
	r := seeded(seed)
	gap := max(c.gap, 0.03)
	var talks []*talk
	at := 0.02 + r.Float64()/500
	for i := range 5 {
		k := &talk{at: at, lead: 1 + 4*r.Float64(), tail: 3 + 2*r.Float64(), chars: message(r, 6+r.IntN(20)),
			amplitude: toneVolts, phase: 2 * math.Pi * r.Float64(), rc: c.rc, clock: c.clock}
		if i%2 == 1 {
			k.clock = -c.clock
		}
		talks = append(talks, k)
		at = k.end() + gap + r.Float64()/500
	}
	wave, want := render(rate, at+0.05, talks...)
	if c.sway > 0 || c.step > 0 {
		for i := range wave {
			wave[i] += 2.5 + c.sway/2*math.Sin(1+2*math.Pi*25*float64(i)/rate)
			if c.step > 0 {
				wave[i] = math.Round(wave[i]/c.step) * c.step
			}
		}
	}
	return narrow(wave), want
}

// Every character, within a quarter of a bit of its place, and no other: under each
// condition alone, and under all at once.
func TestConditions(t *testing.T) {
	all := conditions{clock: 0.01, sway: loopSwing, rc: longCable, gap: shortGap, step: scopeStep}
	slow := all
	slow.clock = -0.01
	for _, c := range []struct {
		name string
		conditions
	}{
		{"clean", conditions{}},
		{"clock 1 % fast and slow by turns", conditions{clock: 0.01}},
		{"25 Hz of 16 mA", conditions{sway: loopSwing}},
		{"25 Hz of 32 times what the tones have peak to peak", conditions{sway: 32 * toneVolts}},
		{"65 µs", conditions{rc: longCable}},
		{"20 ms without carrier", conditions{gap: shortGap}},
		{"8 bits", conditions{step: toneVolts / 250}},
		{"8 bits over 5 V", conditions{step: scopeStep}},
		{"all at once, fast first", all},
		{"all at once, slow first", slow},
	} {
		for _, rate := range fileRates {
			t.Run(fmt.Sprint(c.name, "/", rate), func(t *testing.T) {
				files := uint64(1)
				if rate <= 48000 {
					files = 2
				}
				for seed := range files {
					samples, want := c.make(rate, seed)
					expectAll(t, want, hear(rate, samples, 4096))
				}
			})
		}
	}
}

// The same characters come of the same samples, however they are divided.
func TestPiecesOfSamples(t *testing.T) {
	samples, want := conditions{clock: 0.005, sway: 1, rc: longCable}.make(19200, 9)
	whole := hear(19200, samples, len(samples))
	expectAll(t, want, whole)
	for _, piece := range []int{1, 7, 100, 4096} {
		if got := hear(19200, samples, piece); fmt.Sprint(got) != fmt.Sprint(whole) {
			t.Errorf("%d samples at a time: got another answer than from all at once", piece)
		}
	}
}

// Other rates: of a slow recorder, of a fast oscilloscope, and what a clock of its own
// makes of one.
func TestOtherRates(t *testing.T) {
	for _, rate := range []float64{8000, 11025, 12345.6, 22050, 31250, 47952.3, 250e3, 1e6} {
		for _, c := range []conditions{{}, {clock: 0.01, sway: loopSwing, rc: longCable, gap: shortGap, step: scopeStep}} {
			t.Run(fmt.Sprint(rate, c), func(t *testing.T) {
				samples, want := c.make(rate, 4)
				expectAll(t, want, hear(rate, samples, 5000))
			})
		}
	}
}
