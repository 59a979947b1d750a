package page

import (
	"iter"

	"looptone/sim/master"
)

// An errand is a script that is carried out among others, one transaction after the
// other. A nil errand is one that has ended.
type errand struct {
	next  func() (*master.Transaction, bool)
	end   func()
	going *master.Transaction // what it wants done next; nil before it was asked, and at its end
	over  bool

	dropped func(asked bool) // is told when it is not carried out to its end, and whether it waits for an answer
}

func newErrand(script master.Script) *errand {
	next, stop := iter.Pull(script)
	return &errand{next: next, end: stop}
}

// ahead is what is to be done next; nil at the end.
func (e *errand) ahead() *master.Transaction {
	if e == nil || e.over {
		return nil
	}
	if e.going == nil {
		var more bool
		e.going, more = e.next()
		e.over = !more
	}
	return e.going
}

// took takes what came of that.
func (e *errand) took(t *master.Transaction) {
	if e == nil || e.over || e.going == nil {
		return
	}
	*e.going = *t
	e.going = nil
	e.ahead()
}

// goes reports whether it has not come to its end.
func (e *errand) goes() bool { return e != nil && !e.over }

func (e *errand) stop() {
	if e != nil {
		e.over = true
		e.end()
	}
}
