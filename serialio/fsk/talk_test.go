package fsk_test

import (
	"math"
	"math/bits"

	"looptone/frame"
)

// A talk is one carrier of a modulator of the tests' own, which has nothing from the
// package: every sample is computed from the phase at the edge of its bit, in closed
// form. TestTalkEqualsMinimodem compares it with a program of others.
//
// The numbers are those of waveform text books: a 1 is 1200 Hz, a 0 is 2200 Hz, 1200
// bit/s; start 0, eight data bits from the lowest, odd parity, stop 1.
type talk struct {
	at         float64 // seconds: the carrier goes on
	lead, tail float64 // bits of mark before and after the characters
	chars      []byte
	wrong      map[int]frame.Mark // characters with a wrong parity or stop bit
	pauses     map[int]float64    // bits of mark before a character
	amplitude  float64            // peak to peak
	phase      float64            // radians, at the beginning
	clock      float64            // +0.01: bits 1 % shorter, tones 1 % higher
	tones      float64            // +0.01: tones 1 % higher, beside that
	space      float64            // amplitude of a 0 to that of a 1, less 1: 0 is equal
	rc         float64            // seconds: time constant of a cable, with sines only
	shape      func(phase float64) float64
}

// sent is one character as it stands on the line.
type sent struct {
	at   float64
	char byte
	mark frame.Mark
}

// A piece is a time with one tone.
type piece struct {
	from, until float64
	bit         bool
}

// pieces are the tones of the talk and the characters' places.
func (k *talk) pieces() (ps []piece, chars []sent) {
	bit := 1 / (1200 * (1 + k.clock))
	now := k.at
	put := func(one bool, length float64) {
		ps = append(ps, piece{now, now + length*bit, one})
		now += length * bit
	}
	put(true, k.lead)
	for i, c := range k.chars {
		if p := k.pauses[i]; p > 0 {
			put(true, p)
		}
		chars = append(chars, sent{now, c, k.wrong[i]})
		put(false, 1)
		for b := range 8 {
			put(c>>b&1 == 1, 1)
		}
		put((bits.OnesCount8(c)%2 == 0) != (k.wrong[i]&frame.Parity != 0), 1)
		put(k.wrong[i]&frame.Framing == 0, 1)
	}
	put(true, k.tail)
	return ps, chars
}

// sent are the characters and where they are.
func (k *talk) sent() []sent {
	_, chars := k.pieces()
	return chars
}

// end is when the carrier goes off.
func (k *talk) end() float64 {
	length := k.lead + 11*float64(len(k.chars)) + k.tail
	for _, p := range k.pauses {
		length += p
	}
	return k.at + length/(1200*(1+k.clock))
}

// add adds the talk to samples, the first of which is at time 0.
//
// Behind a cable with the time constant T a sine of w rad/s is smaller by
// 1/sqrt(1+(wT)²) and late by atan(wT), and what the step at the edge leaves behind
// dies away as exp(-t/T): the solution of T·y' = x - y.
func (k *talk) add(samples []float64, rate float64) {
	ps, _ := k.pieces()
	phase, y := k.phase, 0.0
	for _, p := range ps {
		hz, a := 2200*(1+k.clock)*(1+k.tones), k.amplitude/2*(1+k.space)
		if p.bit {
			hz, a = 1200*(1+k.clock)*(1+k.tones), k.amplitude/2
		}
		w := 2 * math.Pi * hz
		late := math.Atan(w * k.rc)
		a *= math.Cos(late) // 1/sqrt(1+(wT)²)
		rest := 0.0
		if k.rc > 0 {
			rest = y - a*math.Sin(phase-late)
		}
		value := func(t float64) float64 {
			if k.shape != nil {
				return a * k.shape(phase+w*t)
			}
			v := a * math.Sin(phase+w*t-late)
			if k.rc > 0 {
				v += rest * math.Exp(-t/k.rc)
			}
			return v
		}
		for n := max(int(math.Ceil(p.from*rate)), 0); n < len(samples) && float64(n) < p.until*rate; n++ {
			samples[n] += value(float64(n)/rate - p.from)
		}
		y = value(p.until - p.from)
		phase = math.Mod(phase+w*(p.until-p.from), 2*math.Pi)
	}
	if k.rc > 0 {
		off := ps[len(ps)-1].until
		for n := int(math.Ceil(off * rate)); n < len(samples) && float64(n)/rate < off+20*k.rc; n++ {
			samples[n] += y * math.Exp(-(float64(n)/rate-off)/k.rc)
		}
	}
}

// trapezoid rises over a third of its period in all, and falls as long.
func trapezoid(phase float64) float64 {
	x := math.Asin(math.Sin(phase)) * 2 / math.Pi // a triangle
	return max(-1, min(1, 1.5*x))
}

// render is a waveform of talks, so many seconds long.
func render(rate, seconds float64, talks ...*talk) (samples []float64, want []sent) {
	samples = make([]float64, int(seconds*rate))
	for _, k := range talks {
		k.add(samples, rate)
		want = append(want, k.sent()...)
	}
	return samples, want
}
