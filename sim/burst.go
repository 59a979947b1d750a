package sim

import (
	"slices"

	"looptone/frame"
)

// NominalLevel is the level of a burst that names none, in volts peak to peak
// at a receiver.
//
// Source: Texas Instruments application note SLAAER4 (Mar 2025), 3.4.8 table
// 3-8 (typical value).
const NominalLevel = 0.5

// A Burst is what a station sends in one go, from carrier on to carrier off.
type Burst struct {
	At    Tick // carrier on
	Lead  Tick // from there to the first start bit
	Tail  Tick // from the last stop bit to carrier off
	Chars []byte
	Marks []frame.MarkAt // Parity and Framing send that character wrongly; Pos counts in Chars
	PPM   int32          // error of the talker's clock: +1000 makes its bits 0.1 % longer
	Level float32        // at the receivers, in volts peak to peak; 0 stands for NominalLevel

	Pauses []Pause // inside, in the order of the characters
}

// A Pause is a time in front of a character in which the carrier stays on and
// nothing is sent.
type Pause struct {
	Before int // index of the character
	For    Tick
}

// Start is the edge of the start bit of character i, or the end of the last
// stop bit for i = len(Chars).
func (b *Burst) Start(i int) Tick { return b.bit(i * 11) }

// Off is when the carrier goes off.
func (b *Burst) Off() Tick { return b.Start(len(b.Chars)) + b.Tail }

// bit is the edge in front of bit i of the characters.
func (b *Burst) bit(i int) Tick {
	span := Tick(i) * Bit
	return b.At + b.Lead + span + span*Tick(b.PPM)/1_000_000
}

func (b *Burst) level() float32 {
	if b.Level == 0 {
		return NominalLevel
	}
	return b.Level
}

func (b *Burst) mark(i int) (m frame.Mark) {
	for _, at := range b.Marks {
		if at.Pos == int64(i) {
			m |= at.Mark
		}
	}
	return m
}

// valueAt is the bit that b sends at t, between carrier on and off.
func (b *Burst) valueAt(t Tick) bool {
	i, ok := b.bitAt(t)
	if !ok {
		return true
	}
	char, bit := i/11, i%11
	c := b.Chars[char]
	switch bit {
	case 0:
		return false
	case 9:
		return oddParity(c) != (b.mark(char)&frame.Parity != 0)
	case 10:
		return b.mark(char)&frame.Framing == 0
	}
	return c>>(bit-1)&1 == 1
}

// bitAt is the index of the bit that is on the line at t; false in lead and tail.
func (b *Burst) bitAt(t Tick) (int, bool) {
	n := len(b.Chars) * 11
	i := int((t - b.At - b.Lead) * 1_000_000 / (1_000_000 + Tick(b.PPM)) / Bit)
	for i > 0 && b.bit(i) > t { // rounding of the division
		i--
	}
	for i < n && b.bit(i+1) <= t {
		i++
	}
	return i, t >= b.bit(0) && i < n
}

// edgeAfter is the next moment behind t at which b may change its bit.
func (b *Burst) edgeAfter(t Tick) Tick {
	switch i, ok := b.bitAt(t); {
	case ok:
		return b.bit(i + 1)
	case t < b.At:
		return b.At
	case t < b.bit(0):
		return b.bit(0)
	case t < b.Off():
		return b.Off()
	}
	return Never
}

// oddParity is the parity bit that makes the number of ones in c and it odd.
func oddParity(c byte) bool {
	c ^= c >> 4
	c ^= c >> 2
	c ^= c >> 1
	return c&1 == 0
}

// sound appends the characters that a receiver hears when b talks alone.
func (b *Burst) sound(to []Char) []Char {
	to = slices.Grow(to, len(b.Chars))
	for i, c := range b.Chars {
		to = append(to, Char{Value: c, Start: b.Start(i), End: b.Start(i + 1)})
	}
	for _, m := range b.Marks {
		to[len(to)-len(b.Chars)+int(m.Pos)].Mark |= m.Mark
	}
	return to
}
