package fsk

import (
	"math"
	"slices"
)

// innerRate is the rate of samples behind the resampler: eight a bit.
const innerRate = 8 * BitRate

// A resampler makes [innerRate] samples a second of any rate: a windowed sinc, of which
// a bank holds a copy for each of many places between two samples. Its first sample is
// at the time of the first that is fed.
type resampler struct {
	ratio  float64 // samples in for one out
	reach  int     // samples on either side of the one that is made
	phases int     // copies
	bank   []float32
	half   []float32 // of the one copy that a whole ratio needs, from the middle on; nil for other ratios
	begun  bool
	held   []float32 // samples that are needed still
	at     int       // in held, of the next one that is made
	beyond float64   // of at, 0 to 1
}

const (
	bell  = 4    // of the Kaiser window: what must not be let through is 45 dB down
	most  = 1e18 // of a sample: eight squares of that are still a number of 32 bits
	chunk = 2048
)

func newResampler(rate float64) *resampler {
	r := &resampler{ratio: rate / innerRate}
	narrow := max(r.ratio, 1)
	half := 3.2 * narrow
	if r.ratio < 1.5 {
		half = 6 * narrow // the band ends close behind the tones
	}
	r.reach = block * int(math.Ceil(half/block))
	r.phases = max(8, int(math.Ceil(256/narrow)))
	for p := range r.phases + 1 {
		r.bank = append(r.bank, sinc(float64(p)/float64(r.phases), r.reach, narrow, half)...)
	}
	if r.ratio == math.Trunc(r.ratio) && r.reach%(2*block) == 0 {
		r.half = slices.Clone(r.bank[r.reach-1 : 2*r.reach-1])
		r.half[0] /= 2 // it is added from both sides
	}
	r.held = make([]float32, r.reach, 2*r.reach+chunk)
	r.at = r.reach
	return r
}

// sinc is the filter for a place so far behind a sample. Its sum is 1, so that a voltage
// that stays makes no tone of the change from copy to copy.
func sinc(beyond float64, reach int, narrow, half float64) []float32 {
	taps := make([]float64, 2*reach)
	sum := 0.0
	for i := range taps {
		t := float64(i-reach+1) - beyond
		if w := t / half; w > -1 && w < 1 {
			x := math.Pi * t / narrow
			taps[i] = bessel(bell * math.Sqrt(1-w*w))
			if x != 0 {
				taps[i] *= math.Sin(x) / x
			}
		}
		sum += taps[i]
	}
	filter := make([]float32, len(taps))
	for i, v := range taps {
		filter[i] = float32(v / sum)
	}
	return filter
}

// bessel is the modified Bessel function of order 0.
func bessel(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-12*sum; k++ {
		term *= x / 2 / k * x / 2 / k
		sum += term
	}
	return sum
}

// feed takes the next samples, and hands on what they make, some at a time. Before the
// first of all, the level is taken to be its own: it does not begin with a step.
func (r *resampler) feed(samples []float32, got func([]float64)) {
	if !r.begun && len(samples) > 0 {
		r.begun = true
		for i := range r.held {
			r.held[i] = samples[0]
		}
	}
	for len(samples) > 0 {
		n := min(cap(r.held)-len(r.held), len(samples))
		r.held = append(r.held, samples[:n]...)
		samples = samples[n:]
		r.work(got)
	}
}

func (r *resampler) work(got func([]float64)) {
	var made [64]float64
	n := 0
	whole := int(r.ratio)
	part := r.ratio - float64(whole)
	for r.at+r.reach < len(r.held) {
		v := r.next()
		if !(v > -most && v < most) {
			r.clear()
			v = r.next()
		}
		made[n] = v
		if n++; n == len(made) {
			got(made[:])
			n = 0
		}
		r.at += whole
		if r.beyond += part; r.beyond >= 1 {
			r.beyond--
			r.at++
		}
	}
	got(made[:n])
	if past := min(r.at-r.reach, len(r.held)); past > 0 {
		r.held = r.held[:copy(r.held, r.held[past:])]
		r.at -= past
	}
}

// next is the sample that is made next.
func (r *resampler) next() float64 {
	if r.half != nil {
		return around(r.half, r.held[r.at-r.reach:r.at+1], r.held[r.at:])
	}
	p, taps := int(r.beyond*float64(r.phases)+0.5), 2*r.reach
	return dot(r.bank[p*taps:(p+1)*taps], r.held[r.at-r.reach+1:])
}

// clear takes out what is no number, or none that can be reckoned with, of the samples
// that the next one is made of.
func (r *resampler) clear() {
	near := r.held[r.at-r.reach : r.at+r.reach+1]
	for i, v := range near {
		if !(v > -most && v < most) {
			near[i] = 0
		}
	}
}

// block is what a filter's length, and half of it, is a multiple of.
const block = 8

// dot has four sums, so that no addition waits for the one before.
func dot(a, b []float32) float64 {
	var s, t, u, v float32
	for i := 0; i+block <= len(a) && i+block <= len(b); i += block {
		p, q := (*[block]float32)(a[i:]), (*[block]float32)(b[i:])
		for k := 0; k < block; k += 4 {
			s += p[k] * q[k]
			t += p[k+1] * q[k+1]
			u += p[k+2] * q[k+2]
			v += p[k+3] * q[k+3]
		}
	}
	return float64(s+t) + float64(u+v)
}

// around is dot with a filter that is the same on both sides, of which half is here: that
// saves every other multiplication. The last of before is the first of behind. All places
// are written out, as that takes half the time.
func around(half, before, behind []float32) float64 {
	var s, t, u, v float32
	for len(half) >= 2*block && len(before) >= 2*block && len(behind) >= 2*block {
		h, a, b := (*[2 * block]float32)(half), (*[2 * block]float32)(before[len(before)-2*block:]), (*[2 * block]float32)(behind)
		s += h[0] * (a[15] + b[0])
		t += h[1] * (a[14] + b[1])
		u += h[2] * (a[13] + b[2])
		v += h[3] * (a[12] + b[3])
		s += h[4] * (a[11] + b[4])
		t += h[5] * (a[10] + b[5])
		u += h[6] * (a[9] + b[6])
		v += h[7] * (a[8] + b[7])
		s += h[8] * (a[7] + b[8])
		t += h[9] * (a[6] + b[9])
		u += h[10] * (a[5] + b[10])
		v += h[11] * (a[4] + b[11])
		s += h[12] * (a[3] + b[12])
		t += h[13] * (a[2] + b[13])
		u += h[14] * (a[1] + b[14])
		v += h[15] * (a[0] + b[15])
		half, before, behind = half[2*block:], before[:len(before)-2*block], behind[2*block:]
	}
	return float64(s+t) + float64(u+v)
}
