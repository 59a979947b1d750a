package transmitter

import "math"

// damping is a first-order lag. Its input counts as held from one grid point to
// the next, for which the exponential form is exact and stable, however short
// the time constant. A time constant of 0 passes the input on at once.
type damping struct {
	seconds float64 // time constant
	dt      float64 // step that share belongs to
	share   float64 // of the way to the input that one step goes: 1 − e^(−dt/τ)
	in, out float64
}

func (d *damping) Step(dt, in float64) float64 {
	if dt == 0 || d.seconds == 0 {
		d.in, d.out = in, in
		return in
	}
	if dt != d.dt {
		d.dt, d.share = dt, -math.Expm1(-dt/d.seconds)
	}
	d.out += d.share * (d.in - d.out)
	d.in = in
	return d.out
}
