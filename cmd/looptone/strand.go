package main

import (
	"math"
	"strconv"
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/exchange/findings"
	"looptone/serialio/capture"
)

// A strand is one stream of an input on its way through a decoder of its own. It
// holds at most one event; until that is taken it must not be fed.
type strand struct {
	number  int
	file    string // the input that it is a stream of
	name    string // "" where the input does not name it
	alone   bool   // the input holds no other one, as far as is known
	decoder frame.Decoder
	trail   capture.Trail
	lines   bool          // its input has them, or packets or samples
	timed   bool          // it has had times
	heard   time.Duration // end of the last character then
	sight   findings.Sight
	origin  time.Time // wall clock of time 0; zero where it is not known

	ready bool // an event is there
	event frame.Event
	span  exchange.Span
	done  int64 // end of the last event that was taken

	// What is no whole frame is torn where characters are missing beside it: when
	// it ends at tornEnd (−1 for nowhere), or begins between tornFrom and tornTo.
	tornEnd, tornFrom, tornTo int64
}

func newStrand(number int) *strand {
	return &strand{number: number, decoder: frame.Decoder{Bare: true}, tornEnd: -1}
}

// title is the name of the stream, or its number.
func (s *strand) title() string {
	if s.name == "" {
		return "stream " + strconv.Itoa(s.number)
	}
	return s.name
}

func (s *strand) feed(r *capture.Record) {
	carrier := len(r.Chars) == 0 && r.Lost == 0 // went on or off: what was torn ends here
	for _, m := range r.Marks {
		if m.Mark&frame.Cut != 0 && (m.Pos > s.tornFrom || carrier) {
			s.tornTo = min(s.tornTo, m.Pos)
		}
	}
	if len(r.Chars) > 0 {
		s.file, s.lines = r.Place.File, r.Place.Line > 0 || r.Place.Packet > 0 || r.Place.Samples != nil
		s.sight = sightOf(r)
	}
	if end, known := r.End.Since(); known {
		s.timed, s.heard = true, end
	}
	s.trail.Add(s.decoder.Pos(), r)
	s.decoder.Feed(r.Chars, r.Marks)
}

// breakOff notes that what was fed ends here, and whether characters are missing
// behind it.
func (s *strand) breakOff(torn bool) {
	s.decoder.End()
	if torn {
		s.tornEnd = s.decoder.Pos()
	}
}

// resume notes that all was taken of what broke off.
func (s *strand) resume() {
	if s.tornEnd == s.decoder.Pos() {
		s.tornFrom, s.tornTo = s.tornEnd, math.MaxInt64
	}
}

// next makes an event ready, if there is one.
func (s *strand) next() bool {
	if !s.ready && s.decoder.Next(&s.event) {
		s.ready = true
		if s.timed {
			s.span = s.spanOf(&s.event)
		}
	}
	return s.ready
}

// taken ends the stay of the event that was ready. Behind a whole frame nothing is
// torn any more.
func (s *strand) taken() {
	if s.event.Outcome == frame.Whole && s.event.Start >= s.tornFrom {
		s.tornTo = min(s.tornTo, s.event.End)
	}
	s.ready, s.done = false, s.event.End
	s.trail.Forget(s.done)
}

// torn reports whether the event is nothing but what is left beside characters
// that are missing: what it was, nobody can tell.
func (s *strand) torn() bool {
	ev := &s.event
	if ev.Outcome == frame.Whole {
		return false
	}
	begin := ev.Start - int64(ev.Preambles)
	return ev.End == s.tornEnd || begin >= s.tornFrom && begin < s.tornTo
}

// spanOf is when an event was on the line.
func (s *strand) spanOf(ev *frame.Event) exchange.Span {
	first := ev.Start - int64(ev.Preambles)
	begin, known := s.trail.Begin(first).Since()
	if !known {
		return exchange.Span{}
	}
	end, _ := s.trail.End(ev.End - 1).Since()
	start := end
	if ev.Start < ev.End {
		start, _ = s.trail.Begin(ev.Start).Since()
	}
	return exchange.Span{Known: true, Begin: begin, Start: start, End: end, Late: s.trail.Late(first), Pause: s.trail.Pause(first, ev.End), Origin: s.origin}
}

// waits reports whether characters wait for others that began before t, so that
// their event, once it is known, comes first.
func (s *strand) waits(t time.Duration) bool {
	begin, known := s.trail.Begin(s.done).Since()
	return !s.ready && known && begin < t
}
