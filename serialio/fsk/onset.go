package fsk

import (
	"math"
	"math/cmplx"
)

// An onset hears a carrier go on: within four bits, most of what moves quickly is one
// tone of 1200 Hz. How strong it is makes no difference.
type onset struct {
	// What samples are taken apart into: level, slope, curve, and both phases of the
	// tone, each of size 1 and nothing of another.
	parts [5][onsetSpan]float64
}

const (
	onsetSpan  = 4 * bit
	onsetShare = 0.6  // of noise, so much is a tone once in some minutes
	rounding   = 3e-6 // of the highest sample: a tone so small comes from rounding
)

func newOnset() *onset {
	o := new(onset)
	for i := range o.parts {
		p := &o.parts[i]
		for k := range p {
			t := float64(k)
			p[k] = [5]float64{1, t, t * t, math.Cos(math.Pi / 4 * t), math.Sin(math.Pi / 4 * t)}[i]
		}
		for _, before := range o.parts[:i] {
			along := inner(p, &before)
			for k := range p {
				p[k] -= along * before[k]
			}
		}
		length := math.Sqrt(inner(p, p))
		for k := range p {
			p[k] /= length
		}
	}
	return o
}

func inner(a, b *[onsetSpan]float64) (sum float64) {
	for k := range a {
		sum += a[k] * b[k]
	}
	return sum
}

// hears reports whether there is a carrier in the newest samples, its amplitude, and
// whether there is next to nothing beside it.
func (o *onset) hears(f *front) (amplitude float64, heard, clean bool) {
	var x [onsetSpan]float64
	first := f.n - onsetSpan
	base := f.raw[first&(cellsHeld-1)]
	energy := 0.0
	for k := range x {
		x[k] = float64(f.raw[(first+int64(k))&(cellsHeld-1)] - base)
		energy += x[k] * x[k]
	}
	for i := range 3 {
		along := inner(&x, &o.parts[i])
		energy -= along * along
	}
	c, s := inner(&x, &o.parts[3]), inner(&x, &o.parts[4])
	tone := c*c + s*s
	amplitude = math.Sqrt(2 * tone / onsetSpan)
	heard = tone > onsetShare*energy && amplitude > rounding*f.top
	return amplitude, heard, energy-tone < 0.5*(1-onsetShare)*energy
}

// begin is the sample at which a carrier of that amplitude went on, which is heard now:
// where there is most tone behind, and least before. It looks at curves only, so
// movement does not matter.
func (o *onset) begin(f *front, amplitude float64) int64 {
	const furthest = 24 * bit
	var sum, most float64
	first := f.n - 2*bit
	for at := first; at > max(f.n-furthest, bit/4); at -= bit / 4 {
		sum += f.curve(at)/amplitude - border
		if sum < most-3*bit/4 {
			break
		}
		if sum > most {
			most, first = sum, at
		}
	}
	return first + bit/4
}

// curve is the amplitude of the louder tone in a bit, by curves.
func (f *front) curve(at int64) float64 {
	var tones [2]complex128
	for k := at; k < at+bit; k++ {
		x := 2*f.past(k) - f.past(k-bit/4) - f.past(k+bit/4)
		for i := range tones {
			w := &f.tables[i][k%48]
			tones[i] += complex(x*w[0], x*w[1])
		}
	}
	return max(cmplx.Abs(tones[0])/curveOfMark, cmplx.Abs(tones[1])/curveOfSpace) / (bit / 2)
}

// By how much the tones are stronger in a curve over half a bit.
const (
	curveOfMark  = 2.0
	curveOfSpace = 3.93
)

// past is a sample as it came.
func (f *front) past(n int64) float64 { return float64(f.raw[n&(cellsHeld-1)]) }
