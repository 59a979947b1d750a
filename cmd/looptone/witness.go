package main

import (
	"fmt"
	"io"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/sim"
)

// A witness is a station that says nothing, writes down what is said, and counts
// it.
type witness struct {
	out     io.Writer            // must not block where the line is one in real time; nil: nothing is shown
	counts  *exchange.Statistics // nil: it does not count
	hosts   *hostJudge           // nil: it does not judge
	json    bool
	explain bool
	only    func(command uint16) bool // whether messages of a command are shown; nil for all
	lines   view.JSON
	tracker exchange.Tracker
}

func (w *witness) Step(_ sim.Tick, heard []sim.Heard) (*sim.Burst, sim.Tick) {
	for i := range heard {
		if h := &heard[i]; h.Carrier == 0 {
			w.tell(h)
		}
	}
	return nil, sim.Never
}

func (w *witness) tell(h *sim.Heard) {
	w.tracker.Follow(0, &h.Event, exchange.Span{
		Known: true, Begin: h.Begin.Duration(), Start: h.Start.Duration(), End: h.End.Duration()})
	var m exchange.Message
	for w.tracker.Next(&m) {
		if w.counts != nil {
			w.counts.Add(&m)
		}
		w.hosts.add(&m)
		if w.only == nil || m.Unanswered == 0 && m.Outcome != frame.Whole || w.only(m.Frame.Number()) {
			w.show(&m)
		}
	}
}

func (w *witness) show(m *exchange.Message) {
	switch {
	case w.out == nil:
	case w.json:
		w.out.Write(append(w.lines.Append(nil, m, nil), '\n'))
	case m.IsStray():
	default:
		fmt.Fprintf(w.out, "%9.3f s  %s\n", m.Span.Start.Seconds(), view.Sentence(m))
		if w.explain && m.Unanswered == 0 && m.Outcome == frame.Whole {
			io.WriteString(w.out, view.Explain(m))
		}
	}
}
