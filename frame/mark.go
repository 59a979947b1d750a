package frame

import "strings"

// Mark says what was wrong with a character, or what stood before it. It is a
// set: one character can carry several.
type Mark uint8

const (
	Parity  Mark = 1 << iota // on the character: its parity bit was wrong
	Framing                  // on the character: its stop bit was not 1
	Gap                      // before the character: the line was idle longer than the tolerance
	Line                     // before the character: a new line of text began
	Cut                      // before the character: silence, carrier off, start or end of input
)

const (
	broken = Parity | Framing // the character's value cannot be trusted
	apart  = Gap | Cut        // the character does not continue what stands before it
	place  = Gap | Line | Cut // a frame without preamble may begin or end here
)

// MarkAt puts a mark at the character with index Pos of its stream. Gap, Line
// and Cut stand before that character, so their Pos may be the length of the
// stream.
type MarkAt struct {
	Pos  int64
	Mark Mark
}

// String names the marks of the set, for instance "parity, gap".
func (m Mark) String() string {
	var names []string
	for i, name := range [...]string{"parity", "framing", "gap", "line", "cut"} {
		if m&(1<<i) != 0 {
			names = append(names, name)
		}
	}
	return strings.Join(names, ", ")
}

// faults are the communication errors that a device would report of m.
func (m Mark) faults() (f Faults) {
	if m&Parity != 0 {
		f |= VerticalParity
	}
	if m&Framing != 0 {
		f |= FramingError
	}
	return f
}
