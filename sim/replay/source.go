package replay

import (
	"looptone/frame"
	"looptone/sim"
)

// A Source makes of recorded characters what to send, and when: the pauses between them
// are kept. Where they are not known, the messages follow each other with hold
// between them.
type Source struct {
	Speed float64 // pauses are so many times shorter; 0 stands for 1. Characters last as long as ever.

	begun   bool
	timed   bool // the end of what came last is known
	apart   bool // what comes next is apart
	end     sim.Tick
	decoder frame.Decoder  // divides what has no times
	wrong   []frame.MarkAt // of what the decoder has, counted in its stream
	event   frame.Event
}

// Characters are some that were recorded one right behind the other.
type Characters struct {
	Start, End sim.Tick // where they are known
	Timed      bool
	Apart      bool // nobody knows how long behind the ones before
	Chars      []byte
	Marks      []frame.MarkAt // Pos counts in Chars
}

// A Piece is something to send.
type Piece struct {
	Pause sim.Tick // behind the last character of the piece before; 0 for the first
	Chars []byte
	Wrong []frame.MarkAt // characters with a wrong parity or stop bit; Pos counts in Chars
}

// NewSource is a source that has had nothing yet.
func NewSource(speed float64) *Source {
	return &Source{Speed: speed, decoder: frame.Decoder{Bare: true}}
}

// Take takes what comes next, and appends to dst what is to be sent of it. Without times
// that is known only when a message is over.
func (s *Source) Take(dst []Piece, c *Characters) []Piece {
	s.apart = s.apart || c.Apart
	switch {
	case len(c.Chars) == 0:
		return dst
	case s.apart || c.Timed:
		dst = s.Flush(dst)
	}
	known := s.timed && !s.apart
	s.timed, s.apart = c.Timed, false
	if !c.Timed {
		s.feed(c)
		return s.messages(dst)
	}
	pause := sim.Hold
	if known {
		pause = s.shorter(max(0, c.Start-s.end))
	}
	s.end = c.End
	return s.piece(dst, pause, c.Chars, broken(nil, c.Marks, 0))
}

func (s *Source) feed(c *Characters) {
	marks := make([]frame.MarkAt, 0, len(c.Marks))
	for _, m := range c.Marks {
		marks = append(marks, frame.MarkAt{Pos: m.Pos + s.decoder.Pos(), Mark: m.Mark})
	}
	s.wrong = broken(s.wrong, c.Marks, s.decoder.Pos())
	s.decoder.Feed(c.Chars, marks)
}

// broken appends the marks of wrong parity and stop bits, by so much further on.
func broken(dst, marks []frame.MarkAt, by int64) []frame.MarkAt {
	for _, m := range marks {
		if m.Mark &= frame.Parity | frame.Framing; m.Mark != 0 {
			dst = append(dst, frame.MarkAt{Pos: m.Pos + by, Mark: m.Mark})
		}
	}
	return dst
}

// Flush appends what is left of characters without times, behind the last of them.
func (s *Source) Flush(dst []Piece) []Piece {
	s.decoder.End()
	return s.messages(dst)
}

func (s *Source) messages(dst []Piece) []Piece {
	for s.decoder.Next(&s.event) {
		chars := frame.AppendPreambles(nil, s.event.Preambles)
		dst = s.piece(dst, sim.Hold, append(chars, s.event.Raw...), s.wrongOfEvent())
	}
	return dst
}

// wrongOfEvent takes the marks of the characters of the event.
func (s *Source) wrongOfEvent() (marks []frame.MarkAt) {
	n := 0
	for n < len(s.wrong) && s.wrong[n].Pos < s.event.End {
		n++
	}
	marks = broken(nil, s.wrong[:n], int64(s.event.Preambles)-s.event.Start)
	s.wrong = append(s.wrong[:0], s.wrong[n:]...)
	return marks
}

func (s *Source) piece(dst []Piece, pause sim.Tick, chars []byte, wrong []frame.MarkAt) []Piece {
	if !s.begun {
		s.begun, pause = true, 0
	}
	return append(dst, Piece{pause, append([]byte(nil), chars...), wrong})
}

func (s *Source) shorter(pause sim.Tick) sim.Tick {
	if s.Speed == 0 {
		return pause
	}
	return sim.Tick(float64(pause) / s.Speed)
}
