package master

import "looptone/frame/payload"

// MostAsked is how often a device that is not done is asked: for more than half a minute,
// as a transaction takes some 0.4 s.
const MostAsked = 100

// An Ask makes one request, again where there is no answer. Its Run is a script, or a
// part of one.
type Ask struct {
	Request Transaction
	Retries int         // how often to ask again where there is no answer
	Insist  bool        // on a device that is not done yet
	Busy    func()      // is told of each answer that it is not; may be nil
	Last    Transaction // what came of it in the end
}

// Run is the script; more is false when it is to end at once.
//
// Source: FieldComm Group support article 8000090586 (a device that needs longer
// answers 32, or 33 and 34, and is asked again).
func (a *Ask) Run(yield func(*Transaction) bool) (more bool) {
	for n := 1; ; n++ {
		if !a.answered(yield) {
			return false
		}
		if !a.Insist || !a.Unfinished() || n == MostAsked {
			return true
		}
		if a.Busy != nil {
			a.Busy()
		}
	}
}

// Unfinished reports whether the device is not done yet.
func (a *Ask) Unfinished() bool {
	code, ok := a.Last.Reply.Status.Response.Code()
	return a.Last.Outcome == Answered && ok && payload.Unfinished(code)
}

// answered asks until there is an answer.
func (a *Ask) answered(yield func(*Transaction) bool) (more bool) {
	for range 1 + a.Retries {
		a.Last = a.Request
		if !yield(&a.Last) {
			return false
		}
		if a.Last.Outcome == Answered {
			break
		}
	}
	return true
}
