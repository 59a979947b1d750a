package main

import (
	"fmt"
	"io"

	"looptone/cmd/looptone/view"
	"looptone/frame/exchange"
	"looptone/sim"
)

// A witness is a station that says nothing and writes down what is said.
type witness struct {
	out     io.Writer // must not block: the line would wait
	json    bool
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
	start := h.End - sim.Tick(len(h.Event.Raw))*sim.Character
	w.tracker.Follow(0, &h.Event, exchange.Span{
		Known: true, Begin: h.Begin.Duration(), Start: start.Duration(), End: h.End.Duration()})
	var m exchange.Message
	for w.tracker.Next(&m) {
		if w.json {
			w.out.Write(append(w.lines.Append(nil, &m, nil), '\n'))
			continue
		}
		if !m.IsStray() {
			fmt.Fprintf(w.out, "%9.3f s  %s\n", m.Span.Start.Seconds(), view.Sentence(&m))
		}
	}
}
