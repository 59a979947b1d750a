package main

import (
	"math"
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/serialio/capture"
)

// A strand is one stream of an input on its way through a decoder of its own. It
// holds at most one event; until that is taken it must not be fed.
type strand struct {
	number  int
	alone   bool // the input cannot hold another one
	decoder frame.Decoder
	trail   capture.Trail
	timed   bool          // it has had times
	heard   time.Duration // end of the last character then
	origin  time.Time     // wall clock of time 0; zero where it is not known

	ready bool // an event is there
	event frame.Event
	span  exchange.Span
	done  int64 // end of the last event that was taken

	brink int64 // in front of this index characters are missing; −1 for nowhere
	hole  int64 // the same, once all that is in front was taken
	sound int64 // behind the hole, from here on that does not matter any more
}

func newStrand(number int, alone bool) *strand {
	return &strand{number: number, alone: alone, decoder: frame.Decoder{Bare: true}, brink: -1}
}

func (s *strand) feed(r *capture.Record) {
	for _, m := range r.Marks {
		if m.Mark&frame.Cut != 0 && (m.Pos > s.hole || len(r.Chars) == 0) {
			s.sound = min(s.sound, m.Pos)
		}
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
		s.brink = s.decoder.Pos()
	}
}

// resume notes that all was taken of what broke off.
func (s *strand) resume() {
	if s.brink == s.decoder.Pos() {
		s.hole, s.sound = s.brink, math.MaxInt64
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

// taken ends the stay of the event that was ready.
func (s *strand) taken() {
	s.ready, s.done = false, s.event.End
	s.trail.Forget(s.done)
}

// torn reports whether the event is nothing but what is left beside characters
// that are missing: what it was, nobody can tell.
func (s *strand) torn() bool { return s.brink >= 0 && s.besideHole() }

func (s *strand) besideHole() bool {
	ev := &s.event
	begin := ev.Start - int64(ev.Preambles)
	if ev.Outcome == frame.Whole {
		if begin >= s.hole {
			s.sound = min(s.sound, ev.End)
		}
		return false
	}
	return ev.End == s.brink || begin >= s.hole && begin < s.sound
}

// spanOf is when an event was on the line.
func (s *strand) spanOf(ev *frame.Event) exchange.Span {
	begin, known := s.trail.Begin(ev.Start - int64(ev.Preambles)).Since()
	if !known {
		return exchange.Span{}
	}
	end, _ := s.trail.End(ev.End - 1).Since()
	start := end
	if ev.Start < ev.End {
		start, _ = s.trail.Begin(ev.Start).Since()
	}
	return exchange.Span{Known: true, Begin: begin, Start: start, End: end}
}

// waits reports whether characters wait for others that began before t, so that
// their event, once it is known, comes first.
func (s *strand) waits(t time.Duration) bool {
	begin, known := s.trail.Begin(s.done).Since()
	return !s.ready && known && begin < t && !s.decoder.Settled()
}
