package fsk

import "looptone/frame"

// A Shape is the form of one period of a tone.
type Shape uint8

// The shapes.
const (
	Sine Shape = iota
	Trapezoid
)

// A Voice is how somebody sends. The zero Voice sends as the standard has it, with an
// amplitude of nothing.
type Voice struct {
	Amplitude float64 // peak to peak, in the unit of the samples
	Phase     float64 // radians, when the carrier goes on
	ClockPPM  float64 // error of the clock that bits and tones come from: +1000 makes bits 0.1 % longer and tones lower
	MarkPPM   float64 // error of a tone beside that: +1000 makes it 0.1 % higher
	SpacePPM  float64
	Jitter    float64 // standard deviation of the edge of a bit, in bits; seeded
	Jump      float64 // radians by which the phase jumps at every change of tone
	Shape     Shape
	Seed      uint64
}

// A Carrier is what is sent from carrier on to carrier off. Times are in seconds.
type Carrier struct {
	At         float64 // it goes on
	Lead, Tail float64 // from there to the first start bit, and behind the last stop bit
	Chars      []byte
	Marks      []frame.MarkAt // Parity and Framing send that character wrongly; Pos counts in Chars
	Pauses     []Pause        // inside, in the order of the characters
	Voice      Voice
}

// A Pause is a time in front of a character in which the carrier is at mark.
type Pause struct {
	Before int // index of the character
	For    float64
}

// End is when the carrier goes off.
func (c *Carrier) End() float64 { return 0 }

// A Mixer makes samples of carriers, of several at once too.
type Mixer struct{}

// NewMixer begins at time 0, with so many samples a second.
func NewMixer(rate float64) *Mixer { return &Mixer{} }

// Send has a carrier sent. It must not go on before the samples that were read so far;
// the mixer keeps c.
func (m *Mixer) Send(c *Carrier) {}

// Read makes the next samples.
func (m *Mixer) Read(dst []float32) {}
