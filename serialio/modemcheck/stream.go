package modemcheck

import (
	"time"

	"looptone/frame"
)

// Sent is a message as it went out.
type Sent struct {
	At    time.Time // its first start bit
	Chars []byte    // preambles included
}

// Timing says what the characters of a hook-up are like.
type Timing struct {
	Character time.Duration // 0 stands for [frame.Character]
	Lateness  time.Duration // how late a port may tell that something came in
	Marks     bool          // that the ports see parity and framing errors
}

func (t *Timing) character() time.Duration {
	if t.Character == 0 {
		return frame.Character
	}
	return t.Character
}

// sentChars are the characters of all messages, with the moments when they ended, counted
// from an origin.
func (t *Timing) sentChars(sent []Sent, origin time.Time) (chars []sentChar) {
	for m := range sent {
		at := sent[m].At.Sub(origin)
		preambles := leading(sent[m].Chars)
		for i, c := range sent[m].Chars {
			end := at + time.Duration(i+1)*t.character()
			chars = append(chars, sentChar{value: c, at: end, message: int32(m), preamble: i < preambles})
		}
	}
	return chars
}

// leading is how many preambles lead a message.
func leading(chars []byte) (n int) {
	for n < len(chars) && chars[n] == 0xff {
		n++
	}
	return n
}

// heardChars are the characters of all arrivals, with the moments when they ended. Of
// several that came in together the last one ended then, and the others before it without
// a gap; but none before the one before.
func (t *Timing) heardChars(heard []frame.Arrival, origin time.Time) (chars []heardChar) {
	c := t.character()
	few := 1 + int((t.Lateness+c-1)/c)
	for i := range heard {
		a := &heard[i]
		first := len(chars)
		for k, value := range a.Chars {
			at := a.At.Sub(origin) - time.Duration(len(a.Chars)-1-k)*c
			if n := len(chars); n > 0 {
				at = max(at, chars[n-1].at)
			}
			chars = append(chars, heardChar{value: value, at: at, alone: len(a.Chars) <= few})
		}
		for _, m := range a.Marks {
			if k := first + int(m.Pos); k < len(chars) {
				chars[k].parity = chars[k].parity || m.Mark&frame.Parity != 0
				chars[k].framing = chars[k].framing || m.Mark&frame.Framing != 0
			}
		}
	}
	return chars
}
