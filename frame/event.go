package frame

// Outcome says what a stretch of the stream turned out to be.
type Outcome uint8

const (
	Whole   Outcome = iota + 1 // a frame with a right check byte and no mark that damages it
	Damaged                    // something that began as a frame
	Noise                      // characters that belong to no frame
)

// String is the word for the outcome.
func (o Outcome) String() string { return [...]string{"", "frame", "damage", "noise"}[o] }

// An Event is a stretch of the stream, [Start-Preambles, End), and what it was.
// Stretches touch and do not overlap; together they are the stream. Frame and
// Raw are valid until the next call of the decoder.
type Event struct {
	Outcome   Outcome
	Preambles int   // FF characters in front of Start
	Start     int64 // index of the delimiter; of noise, the first character behind Preambles
	End       int64 // index behind the last character

	Edge bool // of short noise without preambles: a Cut stands right before or behind it

	Frame  Frame  // of damage, what was read up to the fault
	Raw    []byte // the characters [Start, End)
	Faults Faults // of damage, the communication errors that a device would report
	Err    error  // of damage, and of noise with an unknown frame type, a [*FaultError]; its place may lie behind End
}
