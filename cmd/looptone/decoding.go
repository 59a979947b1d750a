package main

import (
	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/serialio/capture"
)

// A decoding is one run over the inputs, each a stream of one conversation: the
// one way from characters to messages.
type decoding struct {
	in      inputs
	filter  filterFlags
	tracker exchange.Tracker
	frames  int  // all of them, whatever the filter
	trouble int  // damage, noise, unanswered requests
	timed   bool // some of it has a time
	shown   int  // messages that passed the filter
	all     bool // nothing is filtered

	message exchange.Message
}

// A printer shows messages.
type printer interface {
	// message shows m; where it stands in its file is known there.
	message(m *exchange.Message, trail *capture.Trail)
	// end shows what is to be shown at the end.
	end() error
}

// decode shows the messages of the inputs that pass the filter.
func (d *decoding) decode(files []string, p printer) error {
	d.all = !d.filter.any()
	for stream, name := range files {
		err := d.in.events(name, func(ev *frame.Event, trail *capture.Trail) {
			d.tracker.Follow(stream, ev, exchange.Span{})
			d.tell(p, trail)
		})
		if err != nil {
			return err
		}
		d.tracker.Part()
	}
	return p.end()
}

// tell shows what the tracker has to say.
func (d *decoding) tell(p printer, trail *capture.Trail) {
	m := &d.message
	for d.tracker.Next(m) {
		switch {
		case m.EchoOf > 0:
		case m.Unanswered == 0 && m.Outcome == frame.Whole:
			d.frames++
		default:
			d.trouble++
		}
		d.timed = d.timed || m.Span.Known
		if d.all || d.filter.passes(m) {
			d.shown++
			p.message(m, trail)
		}
	}
}
