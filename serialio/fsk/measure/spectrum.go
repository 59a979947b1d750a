package measure

import (
	"math"
	"math/bits"
	"math/cmplx"
)

// The pass band of the tones.
//
// Source: Texas Instruments application note SLAAEH0 (Nov 2023), section 1.5.3.1.
const (
	bandFrom = 500.0 // Hz
	bandTo   = 10e3
)

// A Noise is what is left beside the tones, root mean square, by where in the spectrum it
// is. What moves more slowly than some 40 Hz has no part in it.
type Noise struct {
	Seconds float64 // that were looked at; with 0, nothing else counts
	Below   float64 // the pass band, 500 Hz to 10 kHz
	In      float64
	Above   float64 // up to half the rate of the samples
	HasTop  bool    // whether the samples reach above it at all
}

// A periodogram adds up the power of samples by frequency, in segments that overlap by
// half.
type periodogram struct {
	rate     float64
	segment  []float64
	have     int
	window   []float64
	turns    []complex128 // half a circle, clockwise
	z        []complex128
	power    []float64 // by bin, of all segments
	segments int
}

// newPeriodogram takes segments of at least so many seconds.
func newPeriodogram(rate, seconds float64) *periodogram {
	n := 1 << bits.Len(uint(rate*seconds))
	p := &periodogram{rate: rate, segment: make([]float64, n), window: make([]float64, n),
		turns: make([]complex128, n/2), z: make([]complex128, n), power: make([]float64, n/2+1)}
	for i := range p.turns {
		p.turns[i] = cmplx.Rect(1, -2*math.Pi*float64(i)/float64(n))
	}
	for i := range p.window {
		p.window[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n))
	}
	return p
}

// add adds samples that follow those before.
func (p *periodogram) add(x float64) {
	p.segment[p.have] = x
	p.have++
	if p.have == len(p.segment) {
		p.transform()
		p.have = copy(p.segment, p.segment[len(p.segment)/2:])
	}
}

// cut says that the next sample follows none.
func (p *periodogram) cut() { p.have = 0 }

func (p *periodogram) transform() {
	mean, slope := straight(p.segment)
	half := float64(len(p.segment)-1) / 2
	for i, x := range p.segment {
		p.z[i] = complex((x-mean-slope*(float64(i)-half))*p.window[i], 0)
	}
	fourier(p.z, p.turns)
	for k := range p.power {
		a, b := real(p.z[k]), imag(p.z[k])
		p.power[k] += a*a + b*b
	}
	p.segments++
}

// straight is the straight line through samples: its middle, and by how much it rises from
// one to the next.
func straight(x []float64) (mean, slope float64) {
	half := float64(len(x)-1) / 2
	var squares float64
	for i, v := range x {
		t := float64(i) - half
		mean += v
		slope += t * v
		squares += t * t
	}
	return mean / float64(len(x)), slope / squares
}

// hz is the frequency of a bin.
func (p *periodogram) hz(k int) float64 { return float64(k) * p.rate / float64(len(p.z)) }

// noise is the power by bands. What is below the first bins belongs to slow movement.
func (p *periodogram) noise() (n Noise) {
	if p.segments == 0 {
		return n
	}
	const windowPower = 3.0 / 8
	size := float64(len(p.z))
	scale := 2 / (size * size * windowPower * float64(p.segments))
	for k := 2; k < len(p.power); k++ {
		power := p.power[k] * scale
		switch hz := p.hz(k); {
		case hz < bandFrom:
			n.Below += power
		case hz <= bandTo:
			n.In += power
		default:
			n.Above += power
			n.HasTop = true
		}
	}
	n.Below, n.In, n.Above = math.Sqrt(n.Below), math.Sqrt(n.In), math.Sqrt(n.Above)
	n.Seconds = float64(p.segments+1) * size / 2 / p.rate
	return n
}

// dominant is the frequency that there is most of; 0 where there is nothing.
func (p *periodogram) dominant() float64 {
	best := 0
	for k := 1; k < len(p.power)-1; k++ {
		if p.power[k] > p.power[best] || best == 0 {
			best = k
		}
	}
	if best == 0 || p.power[best] == 0 {
		return 0
	}
	a, b, c := math.Log(p.power[best-1]), math.Log(p.power[best]), math.Log(p.power[best+1])
	off := 0.0
	if !math.IsInf(a, 0) && !math.IsInf(c, 0) && a+c < 2*b {
		off = (a - c) / (a - 2*b + c) / 2
	}
	return p.hz(1) * (float64(best) + off)
}

// fourier is the discrete Fourier transform, in place; a power of two of them. turns is
// half a circle in as many steps as half of them.
func fourier(z, turns []complex128) {
	n := len(z)
	shift := bits.LeadingZeros(uint(n - 1))
	for i := range z {
		if j := int(bits.Reverse(uint(i)) >> shift); i < j {
			z[i], z[j] = z[j], z[i]
		}
	}
	for size := 2; size <= n; size *= 2 {
		stride := n / size
		for from := 0; from < n; from += size {
			low, high := z[from:from+size/2], z[from+size/2:from+size]
			for i, a := range low {
				b := high[i] * turns[i*stride]
				low[i], high[i] = a+b, a-b
			}
		}
	}
}
