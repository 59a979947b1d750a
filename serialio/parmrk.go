package serialio

import "looptone/frame"

// An unescaper takes apart what a tty says with PARMRK set: FF FF is the character FF,
// FF 00 and a value a character with a wrong parity or stop bit, everything else what
// it is. A tty does not tell parity from stop bit: a value of 00 counts as a break,
// which is a framing error, all others as parity errors.
//
// Source: POSIX.1, General Terminal Interface, Input Modes.
type unescaper struct{ held escape }

// escape is what was read of a sequence that is not complete.
type escape uint8

const (
	nothing escape = iota
	first          // FF
	second         // FF 00
)

// take returns the characters that b completes, with their marks. Those of a sequence
// that b leaves open come with a later b. What no tty writes, FF and neither FF nor 00,
// is taken for the two characters that it would be without PARMRK.
func (u *unescaper) take(b []byte) (chars []byte, marks []frame.MarkAt) {
	chars = make([]byte, 0, len(b)+1)
	for _, c := range b {
		switch {
		case u.held == second:
			marks = append(marks, frame.MarkAt{Pos: int64(len(chars)), Mark: fault(c)})
			chars, u.held = append(chars, c), nothing
		case u.held == first && c == 0:
			u.held = second
		case u.held == first && c == 0xff:
			chars, u.held = append(chars, 0xff), nothing
		case u.held == first:
			chars, u.held = append(chars, 0xff, c), nothing
		case c == 0xff:
			u.held = first
		default:
			chars = append(chars, c)
		}
	}
	return chars, marks
}

func fault(c byte) frame.Mark {
	if c == 0 {
		return frame.Framing
	}
	return frame.Parity
}
