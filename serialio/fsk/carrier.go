package fsk

import (
	"cmp"
	"math/bits"
	"slices"

	"looptone/frame"
)

// A Carrier is what is sent from carrier on to carrier off. Times are in seconds. Lead,
// Tail and the pauses are as they stand here; the error of the clock is in the bits.
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
	Before int // index of the character; the number of them is behind the last
	For    float64
}

// End is when the carrier goes off.
func (c *Carrier) End() float64 {
	return c.Start(len(c.Chars)) + c.Tail
}

// Start is the edge of the start bit of character i, or the end of the last stop bit for
// i = len(Chars). Jitter moves the edges about it.
func (c *Carrier) Start(i int) float64 {
	at := c.At + c.Lead + float64(i*charBits)*c.Voice.bit()
	for _, p := range c.Pauses {
		if p.Before <= i {
			at += p.For
		}
	}
	return at
}

// charBits are the bits of a character: start bit, eight data bits, parity, stop bit.
const charBits = 11

// bitsOf are the bits of a character on the line, the first one lowest.
func bitsOf(char byte, wrong frame.Mark) uint {
	parity, stop := uint(bits.OnesCount8(char)+1)&1, uint(1)
	if wrong&frame.Parity != 0 {
		parity ^= 1
	}
	if wrong&frame.Framing != 0 {
		stop = 0
	}
	return uint(char)<<1 | parity<<9 | stop<<10
}

// A stretch is a time with one tone: lead, tail or pause, or a bit.
type stretch struct {
	end    float64 // seconds behind carrier on
	cycles float64 // that the phase has run by then, from where the stretch begins
	mark   bool
}

// stretches gives those of a carrier, one after the other, without looking ahead.
type stretches struct {
	c      *Carrier
	marks  []frame.MarkAt // in the order of Pos; those of the characters to come
	pauses []Pause        // to come
	jitter jitter

	bit      float64 // seconds
	tones    [2]float64
	shift    float64 // of the edge where the last stretch ended, in bits
	passed   float64 // seconds from carrier on: lead and pauses so far
	char, at int     // the next bit; at 0, what may stand before the character
	bits     uint    // of the character, the next bit lowest
	led      bool    // the lead is over
	over     bool    // and the tail
}

func newStretches(c *Carrier) stretches {
	s := stretches{c: c, marks: c.Marks, pauses: c.Pauses, jitter: newJitter(c), bit: c.Voice.bit()}
	s.tones = [2]float64{c.Voice.cycles(false), c.Voice.cycles(true)}
	byPos := func(a, b frame.MarkAt) int { return cmp.Compare(a.Pos, b.Pos) }
	if !slices.IsSortedFunc(s.marks, byPos) {
		s.marks = slices.SortedFunc(slices.Values(s.marks), byPos)
	}
	return s
}

// next is the next stretch; false behind the last.
func (s *stretches) next() (stretch, bool) {
	switch {
	case !s.led:
		s.led = true
		return s.rest(s.c.Lead), true
	case s.at == 0 && len(s.pauses) > 0 && s.pauses[0].Before <= s.char:
		p := s.pauses[0]
		s.pauses = s.pauses[1:]
		return s.rest(p.For), true
	case s.char < len(s.c.Chars):
		return s.nextBit(), true
	case !s.over:
		s.over = true
		return s.rest(s.c.Tail), true
	}
	return stretch{}, false
}

// rest is a time at mark.
func (s *stretches) rest(seconds float64) stretch {
	s.passed += seconds
	return s.upTo(seconds/s.bit, true)
}

func (s *stretches) nextBit() stretch {
	if s.at == 0 {
		s.bits = bitsOf(s.c.Chars[s.char], s.wrong())
	}
	mark := s.bits&1 == 1
	s.bits >>= 1
	if s.at++; s.at == charBits {
		s.char, s.at = s.char+1, 0
	}
	return s.upTo(1, mark)
}

// wrong is what is to be wrong with the character.
func (s *stretches) wrong() (m frame.Mark) {
	for len(s.marks) > 0 && s.marks[0].Pos <= int64(s.char) {
		if s.marks[0].Pos == int64(s.char) {
			m |= s.marks[0].Mark
		}
		s.marks = s.marks[1:]
	}
	return m
}

// upTo is the stretch that ends behind all so far. The edges come from their number, and
// are not added up.
func (s *stretches) upTo(bits float64, mark bool) stretch {
	shift := 0.0
	if !s.over {
		shift = s.jitter.next()
	}
	bits += shift - s.shift
	s.shift = shift
	edge := s.passed + (float64(s.char*charBits+s.at)+shift)*s.bit
	return stretch{end: edge, cycles: bits * s.tones[index(mark)], mark: mark}
}

// index is that of a tone in tones.
func index(mark bool) int {
	if mark {
		return 1
	}
	return 0
}
