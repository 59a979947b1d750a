package measure

import (
	"math"
	"math/cmplx"
)

// A sinusoid is the real part of z·exp(jω(n-ref)), n being a place in the samples.
type sinusoid struct {
	z   complex128
	ref float64
	w   float64 // radians a sample
	ok  bool    // it was fitted
}

func (s *sinusoid) at(n float64) float64 {
	sin, cos := math.Sincos(s.w * (n - s.ref))
	return real(s.z)*cos - imag(s.z)*sin
}

// A rotor is a sinusoid sample by sample, which costs a tenth of what at does.
type rotor struct{ z, step complex128 }

// rotor begins at sample n.
func (s *sinusoid) rotor(n int) rotor {
	return rotor{s.z * cmplx.Rect(1, s.w*(float64(n)-s.ref)), cmplx.Rect(1, s.w)}
}

// next is the next sample; its imaginary part is a quarter of a period behind.
func (r *rotor) next() complex128 {
	now := r.z
	r.z *= r.step
	return now
}

func (s *sinusoid) phase(n float64) float64 { return cmplx.Phase(s.z) + s.w*(n-s.ref) }

func (s *sinusoid) amplitude() float64 { return cmplx.Abs(s.z) }

// Below so many cycles only amplitude and phase can be told.
const leastCycles = 1.9

// fit fits a sinusoid of about w to the samples from one place to another. Where there
// are cycles enough, slope is by how much w has to be higher; else it is NaN.
func fit(x []float64, from, to, w float64) (s sinusoid, slope float64) {
	first, behind := max(int(math.Ceil(from)), 0), min(int(math.Floor(to))+1, len(x))
	n := behind - first
	slope = math.NaN()
	if n < 4 {
		return s, slope
	}
	size := 2
	if float64(n-1)*w >= 2*math.Pi*leastCycles && n >= 10 {
		size = 5
	}
	s.ref, s.w = float64(first+behind-1)/2, w
	c, ok := leastSquares(x[first:behind], w, size)
	if !ok {
		return s, slope
	}
	s.z, s.ok = complex(c[0], -c[1]), true
	if size > 2 && s.z != 0 {
		slope = imag(complex(c[2], -c[3])/s.z) / (float64(n-1) / 2)
	}
	return s, slope
}

// leastSquares fits cos, sin, t·cos, t·sin and 1, or the first of them, to samples. t goes
// from -1 to 1.
func leastSquares(x []float64, w float64, size int) (c [5]float64, ok bool) {
	var a [5][6]float64
	half := float64(len(x)-1) / 2
	around := sinusoid{z: 1, ref: half, w: w}
	turning := around.rotor(0)
	for i, v := range x {
		t := (float64(i) - half) / half
		now := turning.next()
		cos, sin := real(now), imag(now)
		row := [6]float64{cos, sin, t * cos, t * sin, 1}
		row[size] = v
		for r := range size {
			for k := r; k <= size; k++ {
				a[r][k] += row[r] * row[k]
			}
		}
	}
	for r := range size {
		for k := range r {
			a[r][k] = a[k][r]
		}
	}
	return solve(&a, size)
}

// solve solves a symmetric, positive definite system by elimination.
func solve(a *[5][6]float64, size int) (c [5]float64, ok bool) {
	for p := range size {
		if a[p][p] < 1e-9 {
			return c, false
		}
		for r := p + 1; r < size; r++ {
			f := a[r][p] / a[p][p]
			for k := p; k <= size; k++ {
				a[r][k] -= f * a[p][k]
			}
		}
	}
	for p := size - 1; p >= 0; p-- {
		c[p] = a[p][size]
		for k := p + 1; k < size; k++ {
			c[p] -= a[p][k] * c[k]
		}
		c[p] /= a[p][p]
	}
	return c, true
}
