package transmitter

import "math"

// damping is a first-order lag. Its input counts as held from one grid point to
// the next, for which the exponential form is exact and stable, however short
// the time constant. A time constant of 0 passes the input on at once.
//
// It damps what it is given, in that unit: behind the range a percentage.
type damping struct {
	share   float64 // of the way to the input that one step goes: 1 − e^(−dt/τ)
	settled bool    // on a number
	in, out float64
}

// set gives it a time constant, in seconds, for steps that long.
func (d *damping) set(seconds, step float64) {
	d.share = 1
	if seconds > 0 {
		d.share = -math.Expm1(-step / seconds)
	}
}

// begin has it settle on what comes next.
func (d *damping) begin() { d.settled = false }

func (d *damping) Step(dt, in float64) float64 {
	switch {
	case d.share == 1 || !d.settled:
		d.out = in
		d.settled = !math.IsNaN(in) // which must not stay for ever
	case math.IsNaN(in):
		d.settled = false
		return in
	case dt > 0:
		d.out += d.share * (d.in - d.out)
	}
	d.in = in
	return d.out
}
