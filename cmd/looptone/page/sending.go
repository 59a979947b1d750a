package page

import (
	"errors"
	"fmt"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim/master"
)

var errNotMeant = errors.New("yes: got none, want it with a write where somebody outside is on the line: read the caution first")

// send sends one command to one device.
func (h *Hands) send(w *Wish) (o Outcome, err error) {
	to, err := h.whom(w)
	if err != nil {
		return o, err
	}
	l := letter{to: to, primary: h.primaryBy(w), command: uint16(w.Command)}
	if l.data, err = to.encode(w); err != nil {
		return o, err
	}
	if err := l.show(&o); err != nil {
		return o, err
	}
	r := reversalOf(&l)
	if l.writes() {
		o.Says += "; " + r.says()
	}
	if err := h.allow(w, &l, &o); err != nil || w.Preview {
		return o, err
	}
	if h.masters.sending() >= mostUnderWay {
		return o, errManyUnderWay
	}
	h.dispatch(&sending{hands: h, letter: l, reversal: r, by: w.By})
	return o, nil
}

// allow lets a write through where it cannot reach anything real, or was meant.
func (h *Hands) allow(w *Wish, l *letter, o *Outcome) error {
	if !h.outside() || !l.writes() {
		return nil
	}
	o.Caution = h.Caution
	if !w.Yes && !w.Preview {
		return errNotMeant
	}
	return nil
}

// mostUnderWay is how many messages may wait to be sent.
const mostUnderWay = 50

var errManyUnderWay = fmt.Errorf("send: %d messages are under way, want them answered first", mostUnderWay)

func (h *Hands) dispatch(s *sending) {
	d := h.masters.desk(s.letter.primary)
	d.heedless = !h.outside()
	d.send(s)
}

// A sending is one letter on its way.
type sending struct {
	hands    *Hands
	letter   letter
	reversal *reversal // nil: it cannot be taken back
	by       string
	failed   func() // is told when it was not carried out; may be nil

	turn bool // it is the letter's: what the device has was read
	sent bool // the letter was, once at least, and nobody has answered
}

// run is the script: what the device has is read first, so that it can be written back.
func (s *sending) run(yield func(*master.Transaction) bool) {
	var has *frame.Frame
	if s.reversal != nil && s.reversal.asks {
		before := master.Ask{Request: s.reversal.ask(&s.letter), Retries: retries}
		if !before.Run(yield) {
			return
		}
		has = &before.Last.Reply
	}
	s.turn = true
	ask := master.Ask{Request: s.letter.transaction(), Retries: retries, Insist: true}
	if ask.Run(func(t *master.Transaction) bool {
		more := yield(t)
		s.sent = s.sent || more
		return more
	}) {
		s.ended(&ask.Last, has)
	}
}

// dropped tells that the master has stopped before it came to an end; asked: while an
// answer was waited for.
func (s *sending) dropped(by string, asked bool) {
	became := "was not sent: the %s has stopped"
	if s.sent || s.turn && asked {
		became = "may have been carried out: the %s has stopped while it was under way"
	}
	s.fails(s.what() + " " + fmt.Sprintf(became, by))
}

func (s *sending) what() string {
	return fmt.Sprintf("%s to %s", commandText(s.letter.command), s.letter.to.name())
}

// ended says what came of the letter where nobody sees it anyway, and notes how it is
// taken back.
func (s *sending) ended(t *master.Transaction, has *frame.Frame) {
	what := s.what()
	code, understood := t.Reply.Status.Response.Code()
	switch {
	case t.Outcome != master.Answered:
		s.fails(what + ": nobody has answered")
	case !understood:
		s.fails(what + ": the request arrived damaged")
	case !payload.Executed(code):
		def, _ := payload.Lookup(s.letter.command)
		s.fails(fmt.Sprintf("%s was not carried out: %s", what, def.ResponseText(code)))
	case s.reversal != nil:
		if back, ok := s.reversal.letter(&s.letter, has); ok {
			s.hands.push(s.hands.writingBack(back))
		}
		s.hands.tell(s.by, what+" was carried out")
	default:
		s.hands.changed()
	}
}

func (s *sending) fails(says string) {
	if s.failed != nil {
		s.failed()
	}
	s.hands.tell(s.by, says)
}

// writingBack writes back what a device had before.
func (h *Hands) writingBack(l *letter) *deed {
	var shown Outcome
	_ = l.show(&shown) // it was made from what fits
	d := &deed{says: shown.Says}
	d.back = func(w *Wish) (o Outcome, err error) {
		_ = l.show(&o)
		if err := h.allow(w, l, &o); err != nil || w.Preview {
			return o, err
		}
		h.dispatch(&sending{hands: h, letter: *l, by: w.By, failed: func() { h.push(d) }})
		return o, nil
	}
	return d
}
