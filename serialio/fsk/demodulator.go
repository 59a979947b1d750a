package fsk

import "looptone/frame"

// Heard is what a demodulator makes of samples: a character, or a carrier that went on
// or off. Times are in seconds behind the first sample.
type Heard struct {
	At      float64 // edge of the start bit; where the carrier went on or off
	Known   float64 // samples until then were needed to know
	Bit     float64 // length of a bit
	Char    byte
	Mark    frame.Mark // Parity, Framing
	Carrier int8       // +1 on, -1 off; then there is no character
	Quality float32    // 0 to 1: how far from any other character this one was
}

// A Demodulator finds characters in samples, whatever their level, their clock within
// reason, and what lies under them.
type Demodulator struct{}

// NewDemodulator begins to hear, at so many samples a second, [LeastRate] or more.
func NewDemodulator(rate float64) *Demodulator { return &Demodulator{} }

// LeastRate is the lowest rate of samples that carries both tones.
const LeastRate = 8000.0

// Feed hears the next samples.
func (d *Demodulator) Feed(samples []float32) {}

// End says that no more samples come.
func (d *Demodulator) End() {}

// Next is the next thing that was heard, in the order of At.
func (d *Demodulator) Next(h *Heard) bool { return false }
