package findings

import (
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
)

// what is what was on the line.
type what uint8

const (
	nothing what = iota // that is known of
	request
	reply
	burst
	unreadable
)

// before is what was on the line last.
type before struct {
	what    what
	primary bool // master bit; of what is unreadable, that of the request in front of it
	asked   bool // there was such a request
	number  int
	stream  int
	talker  string // of a request, where they have names
	several bool   // it was heard while several talked
	timed   bool
	end     time.Duration
	late    time.Duration // by which end may lie behind what it is of
	watched bool          // nothing: not since time 0
}

// pass makes m what was on the line last.
func (j *Judge) pass(m *exchange.Message) {
	b := before{number: m.Number, stream: m.Stream, timed: m.Span.Known, end: m.Span.End, late: m.Span.Late}
	b.what, b.primary, b.asked = j.whatOf(m)
	if m.Outcome == frame.Damaged {
		j.replaced = j.before
	}
	if b.what == request {
		b.late, b.talker, b.several = j.sight.late(&m.Span), j.sight.Talker, j.sight.Several
	}
	j.before = b
	j.bursting = j.bursting || b.what == burst
}

// whatOf is what a message is, by the master bit of which master. A request that is
// damaged behind its address is one still, for whoever sent it.
func (j *Judge) whatOf(m *exchange.Message) (w what, primary, asked bool) {
	f := &m.Frame
	switch {
	case m.Outcome == frame.Whole && f.Kind == frame.ACK:
		return reply, f.Primary, true
	case m.Outcome == frame.Whole && f.Kind == frame.BACK:
		return burst, f.Primary, false
	case asks(m):
		return request, f.Primary, true
	}
	b := &j.before
	return unreadable, b.primary, b.asked && (b.what == request || b.what == unreadable)
}

// asks reports whether m is a request, or damage to one, of which the master is
// known.
func asks(m *exchange.Message) bool {
	switch m.Outcome {
	case frame.Whole:
		return m.Frame.Kind == frame.STX
	case frame.Damaged:
		fault, ok := m.Err.(*frame.FaultError)
		return ok && m.Frame.Kind == frame.STX && fault.Field > frame.FieldAddress
	}
	return false
}

// Asker is the master whose request m is, as far as anybody can tell: also where it
// is damaged behind its address, or has too few preambles to be heard.
func Asker(m *exchange.Message) (primary, ok bool) {
	if f, _, ok := bareRequest(m); ok {
		return f.Primary, true
	}
	return m.Frame.Primary, asks(m)
}

// recovery is how long, in characters, a line with a burst is silent at most: a
// master waits for 41, and 2 more for the burst that restores the timing.
//
// Source: FieldComm Group support article 8000040648 (timers); their use from memory.
const recovery = 41 + 2

func (j *Judge) endBursting(m *exchange.Message) {
	b := &j.before
	if b.timed && m.Span.Known && j.sight.since(b.end, b.late, m).above(recovery) {
		j.bursting = false
	}
}
