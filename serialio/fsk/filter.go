package fsk

import (
	"math"
	"math/cmplx"
)

// taps are those in front of the pole of a lowPass.
const taps = 7

// A lowPass is that of a resistor and a capacitor, made for samples. The pole is where
// the analog one is, so what fades fades as there. The taps in front of it are such that
// gain and phase come as near as they can over the band of the tones: the usual ways to
// make such a filter are wrong by a sixth at 2200 Hz and 9600 samples a second.
type lowPass struct {
	tap  [taps]float64
	pole float64

	last [taps]float64 // samples, the newest first
	out  float64
}

// The band in which a lowPass is to be right, in Hz, and the rate from which on the band
// grows with the rate: so that the equations keep their meaning.
const (
	bandEnd  = 3200
	bandStep = 100
	wideRate = 48_000
)

// newLowPass makes one with a time constant in seconds, by least squares of what it is
// wrong by, relatively: more than elsewhere it matters at the tones and at 0 Hz.
func newLowPass(rc, rate float64) *lowPass {
	f := &lowPass{pole: math.Exp(-1 / (rc * rate))}
	var sums [taps][taps + 1]float64 // equations for the taps, with what each must give
	for k := range taps {
		const small = 1e-3 // which keeps the taps small where they hardly matter
		sums[k][k] = small
	}
	for hz := 0.0; hz <= bandEnd; hz += bandStep {
		at := hz * max(1, rate/wideRate)
		delay := cmplx.Rect(1, -2*math.Pi*at/rate) // by one sample
		want := (1 - complex(f.pole, 0)*delay) / complex(1, 2*math.Pi*at*rc)
		weight := 1 / real(want*cmplx.Conj(want))
		if hz == 0 || hz == MarkHz || hz == SpaceHz {
			weight *= 100
		}
		addEquation(&sums, delay, want, weight)
	}
	f.tap = solve(sums)
	return f
}

// addEquation adds what least squares has of one frequency.
func addEquation(sums *[taps][taps + 1]float64, delay, want complex128, weight float64) {
	var power [taps]complex128
	power[0] = 1
	for k := 1; k < taps; k++ {
		power[k] = power[k-1] * delay
	}
	for i := range taps {
		for j := range taps {
			sums[i][j] += weight * real(power[i]*cmplx.Conj(power[j]))
		}
		sums[i][taps] += weight * real(want*cmplx.Conj(power[i]))
	}
}

// solve solves linear equations, each of which ends with its right-hand side. Those of
// least squares have no zeros to go around.
func solve(rows [taps][taps + 1]float64) (x [taps]float64) {
	for k := range rows {
		for i := range rows {
			if i == k {
				continue
			}
			part := rows[i][k] / rows[k][k]
			for j := k; j <= taps; j++ {
				rows[i][j] -= part * rows[k][j]
			}
		}
	}
	for k := range x {
		x[k] = rows[k][taps] / rows[k][k]
	}
	return x
}

// next is what comes out for the next sample.
func (f *lowPass) next(sample float64) float64 {
	copy(f.last[1:], f.last[:])
	f.last[0] = sample
	sum := f.pole * f.out
	for k, tap := range f.tap {
		sum += tap * f.last[k]
	}
	f.out = sum
	return sum
}
