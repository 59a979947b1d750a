package fsk

import (
	"math"
	"math/rand/v2"
)

// A Shape is the form of one period of a tone.
type Shape uint8

// The shapes. A Trapezoid has straight edges over a third of a period each, and flat tops
// between them: so it has no third harmonic, and the fifth is 28 dB down.
const (
	Sine Shape = iota
	Trapezoid
)

// A Voice is how somebody sends. The zero Voice sends as the standard has it, with an
// amplitude of nothing.
type Voice struct {
	Amplitude float64 // peak to peak, in the unit of the samples
	Phase     float64 // radians, when the carrier goes on: a sine begins at 0 and rises
	ClockPPM  float64 // error of the clock that bits and tones come from: +1000 makes bits 0.1 % longer and tones lower
	MarkPPM   float64 // error of a tone beside that: +1000 makes it 0.1 % higher
	SpacePPM  float64
	Jitter    float64 // standard deviation of the edge of a bit, in bits; no edge is off by half a bit
	Jump      float64 // radians by which the phase jumps at every change of tone
	Shape     Shape
	Seed      uint64 // of the jitter, together with the moment at which the carrier goes on
}

// bit is the length of a bit in seconds.
func (v *Voice) bit() float64 { return (1 + v.ClockPPM*1e-6) / BitRate }

// cycles are the periods of a tone that one bit has. The clock does not matter.
func (v *Voice) cycles(mark bool) float64 {
	if mark {
		return MarkHz / BitRate * (1 + v.MarkPPM*1e-6)
	}
	return SpaceHz / BitRate * (1 + v.SpacePPM*1e-6)
}

// mostShift is how far jitter moves an edge, in bits: less than half, so that the edges
// stay in their order.
const mostShift = 0.49

// jitter draws the edges of the bits of one carrier.
type jitter struct {
	deviation float64
	random    *rand.Rand // nil where there is none
}

func newJitter(c *Carrier) jitter {
	if c.Voice.Jitter == 0 {
		return jitter{}
	}
	return jitter{c.Voice.Jitter, rand.New(rand.NewPCG(c.Voice.Seed, math.Float64bits(c.At)))}
}

// next is by how much the next edge is late, in bits.
func (j *jitter) next() float64 {
	if j.random == nil {
		return 0
	}
	return min(max(j.random.NormFloat64()*j.deviation, -mostShift), mostShift)
}

// trapezoid is the value of a trapezoid with peaks of ±1, after so many periods.
func trapezoid(cycles float64) float64 {
	_, part := math.Modf(cycles)
	if part < 0 {
		part++
	}
	const edge = 1.0 / 6 // of a period, from zero to the top
	switch {
	case part > 0.75:
		part-- // -1/4 to 0, which rises like what follows
	case part > 0.25:
		part = 0.5 - part
	}
	return min(max(part/edge, -1), 1)
}
