package main

import (
	"math"
	"testing"
)

// At 25 Hz three decibels are gone, far below nothing is, and at the tones there is
// nothing left: two poles are 40 dB a decade.
//
// Source: Texas Instruments application note SLAAEH0 (Nov 2023), 1.5.2 (25 Hz);
// 1/(1+(f/f0)²) with 1/√2 at 25 Hz, computed here.
func TestAnalogOutput(t *testing.T) {
	const rate = 48000.0
	for _, c := range []struct{ hz, want float64 }{{0.5, 1}, {25, math.Sqrt(0.5)}, {1200, 1 / (1 + 48*48*(math.Sqrt2-1))}} {
		a, most := newAnalogOutput(rate, 0), 0.0
		seconds := max(1, 3/c.hz)
		for i := range int(seconds * rate) {
			at := float64(i) / rate
			sample := []float32{0}
			a.add(sample, math.Sin(2*math.Pi*c.hz*at))
			if at > seconds-1/c.hz {
				most = max(most, float64(sample[0]))
			}
		}
		if math.Abs(most-c.want) > 0.01*c.want {
			t.Errorf("%g Hz: got %.5f of it, want %.5f", c.hz, most, c.want)
		}
	}
}

// One that has come to rest adds just its level.
func TestAnalogOutputAtRest(t *testing.T) {
	a := newAnalogOutput(48000, 1)
	samples := make([]float32, 48000)
	a.add(samples, 5)
	if last := samples[len(samples)-1]; last != 5 {
		t.Errorf("a second behind a step, at %v, want 5", last)
	}
}
