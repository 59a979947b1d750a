package master

import (
	"iter"

	"looptone/frame"
	"looptone/sim"
)

// Outcome is how a transaction ended.
type Outcome uint8

const (
	Silent     Outcome = iota + 1 // nothing was heard within the slave time-out
	Answered                      // the reply was read
	Unreadable                    // something was heard that is no reply to the request
)

// A Transaction is a request and what came of it.
type Transaction struct {
	Address   frame.Address
	Command   uint16
	Data      []byte
	Preambles int
	Earliest  sim.Tick // it is not sent before

	Began        sim.Tick // carrier on of the request
	Asked        sim.Tick // end of the request's check byte; 0 before it was sent
	Ended        sim.Tick // when it was known how it ended
	Outcome      Outcome
	Reply        frame.Frame // when answered
	ResponseTime sim.Tick    // when answered: end of the check byte to the reply's first start bit
	Late         sim.Tick    // by how much ResponseTime may be too long
	Occupied     sim.Tick    // how long request and reply, or what came in its place, had the line, carriers included
}

// A Script is what a master does: it yields one transaction after another and
// finds it completed when it goes on.
type Script = iter.Seq[*Transaction]

// answeredBy reports whether f is a reply to t of the asking master.
func (t *Transaction) answeredBy(f *frame.Frame, primary bool) bool {
	_, isPolling := f.Address.IsPolling()
	return f.Kind == frame.ACK && f.Primary == primary && f.Number() == t.Command &&
		(f.Address == t.Address || t.Address.IsBroadcast() && !isPolling)
}

// take keeps a copy of the reply, in the bytes of one before if there are any.
func (t *Transaction) take(f *frame.Frame) {
	room := t.Reply.Data[:0]
	t.Reply = *f
	t.Reply.Expansion = append([]byte(nil), f.Expansion...)
	t.Reply.Data = append(room, f.Data...)
}

// understood reports whether the device that answered understood the request: its
// reply tells no communication errors.
func (t *Transaction) understood() bool {
	_, ok := t.Reply.Status.Response.Code()
	return t.Outcome == Answered && ok
}
