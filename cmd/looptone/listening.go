package main

import (
	"time"

	"looptone/serialio/capture"
)

// A hearer is told what is heard of an input, in the order of times.
type hearer interface {
	// event takes the event that is ready in a strand; it is valid until event returns.
	event(s *strand)
	// gap says that something of the conversation may be missing here, because the
	// input is damaged or for another reason.
	gap(damaged bool)
}

// listening hears all streams of an input.
type listening struct {
	first   int // number of the first stream
	to      hearer
	strands []*strand
	alone   bool      // there can be one stream only
	torn    bool      // characters of any stream are missing somewhere
	started time.Time // in place of what the input tells; zero for that
}

// patience is how long an event waits for one that may have begun before it on
// another stream: longer than any message.
const patience = 5 * time.Second

// take takes a record, and hands on what is known then.
func (l *listening) take(r *capture.Record) {
	if r.Damage != nil {
		l.torn = true
		l.interrupt(l.strands, true)
	}
	if r.Resumed {
		l.interrupt(l.strands, false)
	}
	if len(r.Chars)+len(r.Marks) == 0 && r.Lost == 0 {
		return
	}
	s := l.strand(l.first + int(r.Stream))
	if r.Lost > 0 {
		l.interrupt([]*strand{s}, true)
	}
	for s.ready {
		l.hand(l.earliest())
	}
	if s.origin = r.Origin; !l.started.IsZero() {
		s.origin = l.started
	}
	s.feed(r)
	l.deliver()
}

func (l *listening) strand(number int) *strand {
	for _, s := range l.strands {
		if s.number == number {
			return s
		}
	}
	s := newStrand(number, l.alone)
	if l.torn {
		s.breakOff(true)
		s.resume()
	}
	l.strands = append(l.strands, s)
	return s
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
func (l *listening) interrupt(strands []*strand, torn bool) {
	for _, s := range strands {
		s.breakOff(torn)
	}
	for _, s := range strands {
		for s.next() {
			l.hand(l.earliest())
		}
		s.resume()
	}
	l.to.gap(torn)
}

// end hands on what is left at the end of the input.
func (l *listening) end() {
	for _, s := range l.strands {
		s.decoder.End()
	}
	for s := l.earliest(); s != nil; s = l.earliest() {
		l.hand(s)
	}
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
