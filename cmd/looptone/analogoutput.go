package main

import "math"

// analogHz is where the loop current of a transmitter is 3 dB smaller than it is told to
// be: what is faster belongs to the tones. Two poles at one place keep the corners that a
// converter makes away from them.
//
// Source: Texas Instruments application note SLAAEH0 (Nov 2023), 1.5.2 (signal below
// 25 Hz); two poles from memory.
const analogHz = 25

// An analogOutput smooths what steps from grid point to grid point.
type analogOutput struct {
	rest          float64 // of a distance, from one sample to the next
	first, second float64 // what is behind the poles
}

// newAnalogOutput has come to rest at a level.
func newAnalogOutput(rate, at float64) *analogOutput {
	pole := 2 * math.Pi * analogHz / math.Sqrt(math.Sqrt2-1)
	return &analogOutput{math.Exp(-pole / rate), at, at}
}

// settled is how near is there: a hundredth of what single precision can tell.
const settled = 1e-9

// add adds the next samples of it, on its way to a level.
func (a *analogOutput) add(to []float32, level float64) {
	for i := range to {
		if math.Abs(a.first-level) < settled && math.Abs(a.second-level) < settled {
			a.first, a.second = level, level
			lift(to[i:], float32(level))
			return
		}
		a.first = level + (a.first-level)*a.rest
		a.second = a.first + (a.second-a.first)*a.rest
		to[i] += float32(a.second)
	}
}

func lift(samples []float32, by float32) {
	for i := range samples {
		samples[i] += by
	}
}
