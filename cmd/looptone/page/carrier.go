package page

import (
	"looptone/frame"
	"looptone/sim"
)

// recentLen is how many carriers are kept to find out who has said a message.
const recentLen = 16

// A spoken carrier is one that was on lately.
type spoken struct {
	station    int
	kind       string
	device     int
	on, off    sim.Tick
	start, end sim.Tick // of its characters
}

// Carrier is told of every burst when its carrier goes on, by [sim.Line.Log].
func (s *Scene) Carrier(talker *sim.Seat, b *sim.Burst) {
	from := s.stations.of(s, talker)
	if from == nil {
		return
	}
	c, w := s.carrier(from.ID, b), spoken{from.ID, from.Kind, from.Device, b.At, b.Off(), b.Start(0), b.Off() - b.Tail}
	if last := s.witness.recent[s.carriers%recentLen]; last.goesOn(&w) && s.said.Chars+c.Chars <= longestChars {
		s.said.add(&c)
		w.on, w.start = last.on, last.start
	} else {
		s.carriers++
		c.N = s.carriers
		s.said = c
	}
	s.witness.recent[s.carriers%recentLen] = w
	s.tell("carrier", s.said)
	s.asking.hearCarrier(&w)
	if s.clock.steps != "" {
		s.witness.expect(b.Off())
	}
}

// What comes in from outside piece by piece is one carrier as long as the line waits for
// more of it, and not without end. A piece whose time is that of its arrival may begin a
// little before the one in front of it has ended.
const (
	pieceOverlap = sim.Character / 2
	pieceGap     = 5*sim.Character + 16*sim.Millisecond
	longestChars = 512
)

// goesOn reports whether a piece belongs to the carrier before it.
func (x *spoken) goesOn(piece *spoken) bool {
	silence := piece.start - x.end
	return x.kind == "outside" && x.station == piece.station && -pieceOverlap <= silence && silence <= pieceGap
}

// add puts a piece behind what was there. When it begins is told to half a character, and
// only where it is later than it could be.
func (c *Carrier) add(piece *Carrier) {
	if late := piece.Start - c.expected(); late > sim.Character.Seconds()/2 {
		c.Pauses = append(c.Pauses, [2]float64{float64(c.Chars), late})
	}
	if c.FF == c.Chars {
		c.FF += piece.FF
	}
	for _, i := range piece.Marks {
		c.Marks = append(c.Marks, c.Chars+i)
	}
	c.Chars += piece.Chars
	c.Off = piece.Off
}

// expected is when the next character begins as far as the pauses tell.
func (c *Carrier) expected() float64 {
	at := c.Start + float64(c.Chars)*sim.Character.Seconds()
	for _, p := range c.Pauses {
		at += p[1]
	}
	return at
}

func (s *Scene) carrier(from int, b *sim.Burst) Carrier {
	c := Carrier{
		Station: from, On: b.At.Seconds(), Off: b.Off().Seconds(), Start: b.Start(0).Seconds(),
		Chars: len(b.Chars), FF: preambles(b.Chars), Level: float64(b.Level),
	}
	if b.Level == 0 {
		c.Level = sim.NominalLevel
	}
	for _, p := range b.Pauses {
		c.Pauses = append(c.Pauses, [2]float64{float64(p.Before), p.For.Seconds()})
	}
	for _, m := range b.Marks {
		if m.Mark&(frame.Parity|frame.Framing) != 0 {
			c.Marks = append(c.Marks, int(m.Pos))
		}
	}
	return c
}

// preamble is the character in front of a message.
const preamble = 0xff

// preambles is how many FF stand at the beginning.
func preambles(chars []byte) (n int) {
	for n < len(chars) && chars[n] == preamble {
		n++
	}
	return n
}
