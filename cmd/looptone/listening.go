package main

import (
	"time"

	"looptone/frame/exchange"
	"looptone/serialio/capture"
)

// A hearer is told what is heard of an input, in the order of times.
type hearer interface {
	// event takes the event that is ready in a strand; it is valid until event returns.
	event(s *strand)
	// silence says that nothing else was heard before a moment, on any stream.
	silence(at exchange.Span)
	// gap says that something of the conversation may be missing here.
	gap(g *gap)
}

// A gap is where the input is damaged or tells that characters are lost; or where
// nobody listened, which is no fault.
type gap struct {
	damage error // what of the input cannot be read; nil for no damage
	lost   int64 // characters that were lost while the input was recorded

	// Where it stands: on which stream, of several the first; behind how many
	// characters; and when, where that is known.
	stream int
	pos    int64
	at     exchange.Span
}

// torn reports whether the input has lost something here.
func (g *gap) torn() bool { return g.damage != nil || g.lost > 0 }

// listening hears all streams of an input.
type listening struct {
	first   int // number of the first stream
	to      hearer
	strands []*strand
	torn    bool          // characters of any stream are missing somewhere
	last    exchange.Span // the last moment that is told
	started time.Time     // in place of what the input tells; zero for that
}

// patience is how long an event waits for one that may have begun before it on
// another stream: longer than any message.
const patience = 5 * time.Second

// take takes a record, and hands on what is known then.
func (l *listening) take(r *capture.Record) {
	if r.Damage != nil {
		l.torn = true
		l.interrupt(l.strands, &gap{damage: r.Damage, stream: l.first, pos: l.pos()})
	}
	if r.Resumed {
		l.interrupt(l.strands, &gap{stream: l.first})
	}
	if r.Damage != nil || r.Resumed {
		l.last = exchange.Span{} // what follows may be of any time
	}
	end, timed := r.End.Since()
	if len(r.Chars) == 0 && !timed && len(r.Marks) == 0 && r.Lost == 0 {
		return
	}
	s := l.strand(l.first + int(r.Stream))
	s.alone, s.name = r.Streams <= 1, r.Name
	if s.origin = r.Origin; !l.started.IsZero() {
		s.origin = l.started
	}
	now := exchange.Span{Known: timed, Begin: end, Start: end, End: end, Late: r.Late, Origin: s.origin}
	if r.Lost > 0 {
		l.interrupt([]*strand{s}, &gap{lost: r.Lost, stream: s.number, pos: s.decoder.Pos(), at: now})
	}
	for s.ready {
		l.hand(l.earliest())
	}
	s.feed(r)
	l.deliver()
	if timed && (!l.last.Known || end > l.last.End) {
		l.last = now
	}
}

func (l *listening) strand(number int) *strand {
	for _, s := range l.strands {
		if s.number == number {
			return s
		}
	}
	s := newStrand(number)
	if l.torn {
		s.breakOff(true)
		s.resume()
	}
	l.strands = append(l.strands, s)
	return s
}

// pos is how many characters the first stream has had so far.
func (l *listening) pos() int64 {
	for _, s := range l.strands {
		if s.number == l.first {
			return s.decoder.Pos()
		}
	}
	return 0
}

// next is the number behind the last stream; an input has one at least.
func (l *listening) next() int {
	next := l.first + 1
	for _, s := range l.strands {
		next = max(next, s.number+1)
	}
	return next
}

// interrupt hands on all that is known of some streams, which are not heard
// without a gap. Behind that, they are torn or go on with something else.
func (l *listening) interrupt(strands []*strand, g *gap) {
	for _, s := range strands {
		s.breakOff(g.torn())
	}
	for _, s := range strands {
		for s.next() {
			l.hand(l.earliest())
		}
		s.resume()
	}
	l.tellSilence()
	l.to.gap(g)
}

// end hands on what is left at the end of the input.
func (l *listening) end() {
	for _, s := range l.strands {
		s.decoder.End()
	}
	for s := l.earliest(); s != nil; s = l.earliest() {
		l.hand(s)
	}
	l.tellSilence()
}

// tellSilence tells how far the input has come, unless characters are there of which
// nobody knows yet what they are.
func (l *listening) tellSilence() {
	for _, s := range l.strands {
		if s.ready || !s.decoder.Settled() {
			return
		}
	}
	l.to.silence(l.last)
}

// deliver hands on the events that nothing can come before.
func (l *listening) deliver() {
	if len(l.strands) == 1 { // nothing to compare, which is quicker
		for s := l.strands[0]; s.next(); s.taken() {
			l.to.event(s)
		}
		return
	}
	for s := l.earliest(); s != nil && !l.mayBePreceded(s); s = l.earliest() {
		l.hand(s)
	}
}

// earliest is the stream whose event began first of those that are ready; nil
// for none. One without a time waits for nothing.
func (l *listening) earliest() (first *strand) {
	for _, s := range l.strands {
		if s.next() && (first == nil || first.span.Known && (!s.span.Known || s.span.Begin < first.span.Begin)) {
			first = s
		}
	}
	return first
}

// mayBePreceded reports whether another stream may still give an event that began
// before that of s.
func (l *listening) mayBePreceded(s *strand) bool {
	if !s.span.Known {
		return false
	}
	var now time.Duration
	for _, other := range l.strands {
		now = max(now, other.heard)
	}
	for _, other := range l.strands {
		if now-other.heard < patience && other.waits(s.span.Begin) {
			return true
		}
	}
	return false
}

// hand hands on the event of a stream.
func (l *listening) hand(s *strand) {
	l.to.event(s)
	s.taken()
}
