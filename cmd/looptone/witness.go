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
	span := exchange.Span{Begin: h.Begin.Duration(), Start: start.Duration(), End: h.End.Duration()}
	m := w.tracker.Follow(&h.Event, &span)
	if w.json {
		w.out.Write(append(view.AppendJSON(nil, &m, 0, nil), '\n'))
		return
	}
	fmt.Fprintf(w.out, "%9.3f s  %s\n", start.Seconds(), view.Sentence(&m))
}
