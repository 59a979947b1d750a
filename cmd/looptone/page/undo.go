package page

import "errors"

// mostDeeds is how many things can be undone, one after the other.
const mostDeeds = 100

// A deed is something that was done and can be undone.
type deed struct {
	says string // what undoing it does
	back func(w *Wish) (Outcome, error)
}

func (h *Hands) push(d *deed) {
	if len(h.done) == mostDeeds {
		h.done = append(h.done[:0], h.done[1:]...)
	}
	h.done = append(h.done, d)
}

var (
	errNothing  = errors.New("undo: nothing was done from here that could be undone, want something done first")
	errUnderWay = errors.New("undo: a message is still under way, want it answered first")
)

// undo puts back as it was what was done last.
func (h *Hands) undo(w *Wish) (o Outcome, err error) {
	n := len(h.done)
	switch {
	case h.masters.sending() > 0:
		return o, errUnderWay
	case n == 0:
		return o, errNothing
	}
	d := h.done[n-1]
	o, err = d.back(w)
	if err == nil && !w.Preview {
		h.done = h.done[:n-1]
	}
	return o, err
}
