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
func (b *Burst) Start(i int) Tick {
	at := b.edge(i * 11)
	for _, p := range b.Pauses {
		if p.Before <= i {
			at += p.For
		}
	}
	return at
}

// End is the end of the stop bit of character i.
func (b *Burst) End(i int) Tick { return b.Start(i) + b.edge(i*11+11) - b.edge(i*11) }

// Off is when the carrier goes off.
func (b *Burst) Off() Tick { return b.Start(len(b.Chars)) + b.Tail }

// edge is the edge in front of bit i of the characters, if there are no pauses.
func (b *Burst) edge(i int) Tick {
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
	i, _, ok := b.bitAt(t)
	return !ok || b.bit(i)
}

// bit is bit i of the characters.
func (b *Burst) bit(i int) bool {
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

// bitAt is the index of the bit that is on the line at t; false in lead, pauses
// and tail. Of the next bit and the pauses in front of it, pass is the time that
// they have taken before t.
func (b *Burst) bitAt(t Tick) (i int, pass Tick, ok bool) {
	for _, p := range b.Pauses {
		begin := b.edge(p.Before*11) + pass
		if t < begin {
			break
		}
		if pass += p.For; t < begin+p.For {
			return p.Before * 11, pass, false
		}
	}
	t -= pass
	n := len(b.Chars) * 11
	if t >= b.edge(n) {
		return n, pass, false
	}
	i = max(int((t-b.At-b.Lead)*1_000_000/(1_000_000+Tick(b.PPM))/Bit), 0)
	for i > 0 && b.edge(i) > t { // rounding of the division
		i--
	}
	for b.edge(i+1) <= t {
		i++
	}
	return i, pass, t >= b.edge(0)
}

// edgeAfter is the next moment behind t at which b may change its bit.
func (b *Burst) edgeAfter(t Tick) Tick {
	i, pass, ok := b.bitAt(t)
	switch next := b.edge(i) + pass; {
	case ok:
		return b.edge(i+1) + pass
	case t < b.At:
		return b.At
	case t < next: // in the lead, or a pause
		return next
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
	pauses, pass := b.Pauses, Tick(0)
	end := b.edge(0)
	for i, c := range b.Chars {
		for len(pauses) > 0 && pauses[0].Before == i {
			pass += pauses[0].For
			pauses = pauses[1:]
		}
		start := end
		end = b.edge(i*11 + 11)
		to = append(to, Char{Value: c, Start: start + pass, End: end + pass})
	}
	for _, m := range b.Marks {
		to[len(to)-len(b.Chars)+int(m.Pos)].Mark |= m.Mark
	}
	return to
}
