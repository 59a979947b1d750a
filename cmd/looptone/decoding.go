package main

import (
	"looptone/frame"
	"looptone/frame/exchange"
)

// A decoding is one run over the inputs, which hold one conversation on streams of
// their own: the one way from characters to messages.
type decoding struct {
	in      inputs
	filter  filterFlags
	printer printer
	tracker exchange.Tracker
	frames  int     // all of them, whatever the filter
	trouble int     // damage, noise, unanswered requests, and damage to an input
	timed   bool    // some of it has a time
	clocked bool    // by the wall clock
	shown   int     // messages that passed the filter
	all     bool    // nothing is filtered
	missed  [2]bool // the request of the next reply may be missing, by its master
	last    *strand // of the last message

	message heardMessage
}

// heardMessage is a message, and what the input tells beside it.
type heardMessage struct {
	exchange.Message
	from *strand
	torn bool // it is what is left beside characters that the input has lost
}

// A printer shows messages.
type printer interface {
	message(m *heardMessage)
	// gap takes a gap; number is that in the order of messages, where the gap has
	// one.
	gap(g *gap, number int)
	// end shows what is to be shown at the end.
	end() error
}

// decode shows the messages of the inputs that pass the filter.
func (d *decoding) decode(files []string, p printer) (err error) {
	d.printer, d.all = p, !d.filter.any()
	next := 0
	for _, names := range d.in.apart(files) {
		if next, err = d.in.events(names, next, d); err != nil {
			return err
		}
		d.tracker.Part()
		p.gap(&gap{}, 0)
	}
	return p.end()
}

// event follows an event. What is torn is no trouble on the line, so for the
// conversation it means nothing.
func (d *decoding) event(s *strand) {
	torn := s.torn()
	if torn {
		s.event.Outcome, s.event.Frame, s.event.Err = frame.Noise, frame.Frame{}, nil
	}
	m := &d.message
	m.from = s
	d.tracker.Alone = s.alone
	d.tracker.Follow(s.number, &s.event, s.span)
	for d.tracker.Next(&m.Message) {
		m.torn = torn && m.Unanswered == 0
		d.tell(m)
	}
	if m.EchoOf == 0 {
		d.last = s
	}
}

// silence tells the requests that nobody answers any more.
func (d *decoding) silence(at exchange.Span) {
	m := &d.message
	m.from, m.torn = d.last, false
	for d.tracker.Silence(at); d.tracker.Next(&m.Message); {
		d.tell(m)
	}
}

// tell shows what the tracker has to say.
func (d *decoding) tell(m *heardMessage) {
	switch {
	case m.EchoOf > 0 || m.torn:
	case m.Unanswered == 0 && m.Outcome == frame.Whole:
		if d.frames++; d.missed[0] || d.missed[1] {
			d.excuse(m)
		}
	default:
		d.trouble++
	}
	if m.Span.Known {
		d.timed, d.clocked = true, d.clocked || !m.Span.Origin.IsZero()
	}
	if d.all || d.filter.passes(m) {
		d.shown++
		d.printer.message(m)
	}
}

// gap: a request that waits may have been answered meanwhile, and the next reply
// may have been asked for.
func (d *decoding) gap(g *gap) {
	d.tracker.Part()
	d.missed = [2]bool{true, true}
	number := 0
	if g.torn() {
		d.trouble++
		number = d.tracker.Skip()
	}
	d.printer.gap(g, number)
}

// unrecorded is what a reply has for the number of its request where that may be
// missing in the input, so that nobody can say that it was not asked for.
const unrecorded = -1

// excuse lets the first reply behind a gap be, if its request may be missing.
func (d *decoding) excuse(m *heardMessage) {
	missed := &d.missed[0]
	if m.Frame.Primary {
		missed = &d.missed[1]
	}
	if *missed && m.Unasked() {
		m.ReplyTo, m.RequestDamaged = unrecorded, true
	}
	if m.Frame.Kind != frame.BACK {
		*missed = false
	}
}
