package replay

import (
	"looptone/frame"
	"looptone/sim/master"
)

// Verdict is how an answer stands to the recorded one.
type Verdict uint8

const (
	Same       Verdict = iota + 1
	Different          // there are differences
	Missing            // a reply was recorded, and now there is none that can be read
	Extra              // nobody answered in the recording, and now there is something
	Open               // the recording does not tell what was answered
	LeftOut            // a write, which was not sent
	Unsendable         // a master here does not send such a request: it has expansion bytes, or a form that it does not use
)

func (v Verdict) String() string {
	return [...]string{"", "same", "different", "missing", "extra", "not recorded", "write left out", "cannot be sent"}[v]
}

// A Rerun asks again what was asked in a recording, in its order, each time when it is
// the master's turn, and compares the answers. Its Run is a script. A reply that is lost on
// the line is no difference: a request is repeated before its reply is called missing.
type Rerun struct {
	Recording *Recording
	Writes    bool              // commands that write are sent too
	Retries   int               // how often to ask again where a reply was recorded and none could be read
	Fields    bool              // the data of replies are compared by the values of their fields; else by their bytes
	Tell      func(*Comparison) // is told of each transaction; may be nil

	Verdicts [Unsendable + 1]int // how often there was each so far
	Replies  int                 // that came
	Repeated int                 // requests that were asked again

	comparer comparer
}

// A Comparison is a recorded transaction and what came of it now. It is valid during the
// call of Tell.
type Comparison struct {
	Number      int                 // of the transaction, from 1
	Was         *Transaction        // as it was recorded
	Is          *master.Transaction // as it is now; nil when it was not sent
	Tries       int                 // how often it was sent
	Verdict     Verdict
	Differences []Difference       // of replies that are different
	History     frame.DeviceStatus // bits of [History] that are not the same, where both were answered
}

// InOrder reports whether all answers that could be compared were the same.
func (r *Rerun) InOrder() bool {
	return r.Verdicts[Different]+r.Verdicts[Missing]+r.Verdicts[Extra] == 0
}

// Run is the script.
func (r *Rerun) Run(yield func(*master.Transaction) bool) {
	for i := range r.Recording.Transactions {
		c := Comparison{Number: i + 1, Was: &r.Recording.Transactions[i]}
		switch {
		case c.Was.Writes() && !r.Writes:
			c.Verdict = LeftOut
		case !sendable(&c.Was.Request):
			c.Verdict = Unsendable
		default:
			if !r.ask(&c, yield) {
				return
			}
			r.compare(&c)
		}
		r.Verdicts[c.Verdict]++
		if r.Tell != nil {
			r.Tell(&c)
		}
	}
}

// ask asks until the reply that was recorded comes; more is false when the script is to
// end at once.
func (r *Rerun) ask(c *Comparison, yield func(*master.Transaction) bool) (more bool) {
	for {
		c.Is = c.Was.again()
		if !yield(c.Is) {
			return false
		}
		c.Tries++
		if c.Was.Fate != Answered || c.Is.Outcome == master.Answered || c.Tries > r.Retries {
			return true
		}
		r.Repeated++
	}
}

// sendable reports whether a master sends a request as it was recorded.
func sendable(f *frame.Frame) bool {
	var sent frame.Frame
	sent.SetNumber(f.Number(), f.Payload())
	return len(f.Expansion) == 0 && f.Physical == 0 && len(sent.Data) == len(f.Data)
}

// again is the request as a master sends it now. Who has left out its preambles gets as
// many as a device that has not said how many it wants.
func (t *Transaction) again() *master.Transaction {
	const unknown = 20
	f := &t.Request
	preambles := unknown
	if t.Preambles >= 2 {
		preambles = master.Preambles(uint8(min(t.Preambles, unknown)))
	}
	return &master.Transaction{Address: f.Address, Command: f.Number(), Data: f.Payload(), Preambles: preambles}
}

// compare gives the verdict on what came.
func (r *Rerun) compare(c *Comparison) {
	answered := c.Is.Outcome == master.Answered
	if answered {
		r.Replies++
	}
	switch {
	case c.Was.Fate == Untold:
		c.Verdict = Open
	case c.Was.Fate == Silent && c.Is.Outcome == master.Silent:
		c.Verdict = Same
	case c.Was.Fate == Silent:
		c.Verdict = Extra
	case !answered:
		c.Verdict = Missing
	default:
		c.Differences, c.History = r.comparer.compare(c.Was, &c.Is.Reply, r.Fields)
		if c.Verdict = Same; len(c.Differences) > 0 {
			c.Verdict = Different
		}
	}
}
