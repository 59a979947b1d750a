package loop

import "math/cmplx"

// mostFading is where a cable fades tones out altogether, in nepers: behind it nothing
// is heard that a number could tell from silence, and the hyperbolic functions end.
const mostFading = 300

// pi is the cable as the tones meet it, resistance and capacitance distributed along
// it: exactly an impedance in series, in ohm, and an admittance at each end, in
// siemens.
//
// Source: from memory (equivalent pi of a transmission line).
func (c *Cable) pi(omega float64) (series, shunt complex128) {
	ohm := complex(c.ohm(), 0)
	admittance := susceptance(omega, c.nf())
	g := cmplx.Sqrt(ohm * admittance)
	if g == 0 {
		return ohm, admittance / 2
	}
	bent := g
	if real(g) > mostFading {
		bent = complex(mostFading, mostFading)
	}
	return ohm * cmplx.Sinh(bent) / g, admittance * cmplx.Tanh(bent/2) / g
}

// nf is the capacitance between the cores.
func (c *Cable) nf() float64 { return c.NFPerKM * c.LengthM / 1000 }
