package page

import (
	"fmt"
	"slices"

	"looptone/sim/linefile"
)

// Hands do what somebody at a browser wants done to the line, as far as it is done on
// the wires or to what hangs on them: scan, poll, quiet, send, act and undo. All of it is
// done between two events of the line.
type Hands struct {
	// Outside reports whether somebody outside may be on the line: then nothing is
	// written without the caution. Nil: never.
	Outside func() bool
	Caution string
	// Changed is called when what [Hands.Stand] tells has changed later than by Do; may
	// be nil. News is told what came later of something that was asked for; may be nil.
	Changed func()
	News    func(by, says string)

	description *linefile.Description
	assembly    *linefile.Assembly
	masters     *masters
	done        []*deed // that can be undone, the last one last
}

// NewHands are hands on a line that was assembled from a description. Close them before
// the line is put away.
func NewHands(d *linefile.Description, a *linefile.Assembly) *Hands {
	h := &Hands{description: d, assembly: a}
	h.masters = newMasters(a)
	for _, d := range h.masters.desks {
		d.lost = func() { h.tell("", fmt.Sprintf("the %s stops: somebody else asks as the %s too", d.name(), d.name())) }
	}
	return h
}

// newHands are the hands of a scene, which tells what they have done.
func newHands(s *Scene) *Hands {
	h := NewHands(s.page.config.Description, s.assembly)
	h.Outside = func() bool { return s.page.config.Outside }
	h.Caution, h.Changed, h.News = s.page.config.Caution, s.tellStanding, s.News
	h.begin(s.page.config.Polls)
	return h
}

// begin has the masters of the description step aside at once, so that nobody sees them
// go. Where there is none, and polls says so, a primary master polls all devices: a line
// on which nobody talks shows nothing.
func (h *Hands) begin(polls bool) {
	for _, d := range h.masters.desks {
		if d.host != nil {
			d.join()
		}
	}
	if polls && len(h.assembly.Masters) == 0 {
		h.masters.desk(true).poll(h.everybody())
	}
}

// Close ends what the masters of the page ask.
func (h *Hands) Close() { h.masters.close() }

// Does reports whether a wish is one for hands.
func (h *Hands) Does(wish string) bool { return h.way(wish) != nil }

// Do does what a wish says, or shows what would be done.
func (h *Hands) Do(w *Wish) Outcome {
	do := h.way(w.Do)
	if do == nil {
		return refusal(fmt.Errorf("do: got %q, want one of scan, poll, quiet, send, act, undo", w.Do))
	}
	if err := w.check(); err != nil {
		return refusal(err)
	}
	o, err := do(w)
	if err != nil {
		o.OK, o.Error = false, err.Error()
		return o
	}
	o.OK = true
	return o
}

func (h *Hands) way(wish string) func(w *Wish) (Outcome, error) {
	switch wish {
	case "scan":
		return h.scan
	case "poll":
		return h.poll
	case "quiet":
		return h.quiet
	case "send":
		return h.send
	case "act":
		return h.act
	case "undo":
		return h.undo
	}
	return nil
}

// Stand writes down what was done to the line: all but why it cannot be put back to its
// start.
func (h *Hands) Stand(s *Standing) {
	s.Faults = slices.Clone(h.assembly.Faults.Names())
	s.Undo = ""
	if n := len(h.done); n > 0 {
		s.Undo = h.done[n-1].says
	}
	s.Scan = h.masters.scanning()
	s.Polls = h.masters.polls()
}

func (h *Hands) changed() {
	if h.Changed != nil {
		h.Changed()
	}
}

func (h *Hands) tell(by, says string) {
	if h.News != nil {
		h.News(by, says)
	}
	h.changed()
}

func (h *Hands) outside() bool { return h.Outside != nil && h.Outside() }

func refusal(err error) Outcome { return Outcome{Error: err.Error()} }
