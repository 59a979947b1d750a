// Package replay has the traffic of another day go on: devices that answer as they did
// then, a script that asks again what was asked and compares the answers, and the bare
// characters with the pauses that were between them. Where the traffic was recorded is
// not its business: a [Recording] is made from messages.
package replay

import (
	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/payload"
	"looptone/sim"
)

// Fate is what a recording tells of the answer to a request.
type Fate uint8

const (
	Untold   Fate = iota // nothing: it ends there, has lost something, or what came was damaged
	Answered             // the reply is there
	Silent               // nobody answered
)

// A Transaction is a request that was recorded, and what came of it.
type Transaction struct {
	Request   frame.Frame
	Preambles int // in front of it; 0 or 1 where the recording leaves them out
	Fate      Fate

	// When answered:
	Reply          frame.Frame
	ReplyPreambles int      // as Preambles
	After          sim.Tick // end of the request to the first start bit of the reply; 0 where it is not known

	Definition *payload.Definition // of the command; nil where nothing is known of it
	Revision   uint8               // of the device; 0 where it is not known
}

// Writes reports whether the request changes something in a device. One that nothing is
// known of may, so it counts as one that does.
func (t *Transaction) Writes() bool { return t.Definition == nil || t.Definition.Write }

// A Recording is the transactions of a conversation, in their order. The zero Recording
// is empty.
type Recording struct {
	Transactions []Transaction
	Bursts       int64 // that devices published; they are no part of a transaction
	Unasked      int64 // replies whose request the recording does not have

	waiting [2]asked // by the secondary and the primary master
	kept    map[string][]byte
	names   map[frame.Address]string
	name    []byte
}

// asked is the last request of a master.
type asked struct {
	number int // of its message; 0 for none
	index  int
}

// Add takes the next message of the conversation. It keeps nothing of m.
func (r *Recording) Add(m *exchange.Message) {
	switch {
	case m.EchoOf > 0:
	case m.Unanswered > 0:
		r.addSilence(m)
	case m.Outcome != frame.Whole:
	case m.Frame.Kind == frame.STX:
		r.addRequest(m)
	case m.Frame.Kind == frame.ACK:
		r.addReply(m)
	default:
		r.Bursts++
	}
}

func (r *Recording) addRequest(m *exchange.Message) {
	*r.waitingFor(&m.Frame) = asked{m.Number, len(r.Transactions)}
	t := Transaction{Request: r.keep(&m.Frame), Preambles: m.Preambles, Definition: m.Definition}
	t.learn(m)
	r.learn(m)
	r.Transactions = append(r.Transactions, t)
}

func (r *Recording) addReply(m *exchange.Message) {
	w := r.waitingFor(&m.Frame)
	r.learn(m)
	if w.number == 0 || m.ReplyTo != w.number {
		r.Unasked++
		return
	}
	t := &r.Transactions[w.index]
	t.Fate, t.Reply, t.ReplyPreambles = Answered, r.keep(&m.Frame), m.Preambles
	if m.Response.Known {
		t.After = sim.Ticks(m.Response.Time)
	}
	t.learn(m)
	*w = asked{}
}

// addSilence: damage in place of the reply tells that somebody answered, but not what.
func (r *Recording) addSilence(m *exchange.Message) {
	w := r.waitingFor(&m.Frame)
	if m.Unanswered == w.number && m.Damage == 0 {
		r.Transactions[w.index].Fate = Silent
	}
	*w = asked{}
}

func (r *Recording) waitingFor(f *frame.Frame) *asked {
	if f.Primary {
		return &r.waiting[1]
	}
	return &r.waiting[0]
}

// learn takes over what is known of the device meanwhile.
func (t *Transaction) learn(m *exchange.Message) {
	if m.Device != nil && m.Device.Revision > 0 {
		t.Revision = m.Device.Revision
	}
	if m.Definition != nil {
		t.Definition = m.Definition
	}
}

func (r *Recording) learn(m *exchange.Message) {
	if m.Device == nil {
		return
	}
	r.name = m.Device.Append(r.name[:0])
	if r.names == nil {
		r.names = map[frame.Address]string{}
	}
	if a := m.Frame.Address; r.names[a] != string(r.name) {
		r.names[a] = string(r.name)
	}
}

// Name is what the device with an address is called, "" where the recording does not
// tell.
func (r *Recording) Name(a frame.Address) string { return r.names[a] }

// keep is a copy of f. Data that are the same are kept once: a conversation repeats
// itself.
func (r *Recording) keep(f *frame.Frame) frame.Frame {
	c := *f
	c.Expansion, c.Data = r.keepBytes(f.Expansion), r.keepBytes(f.Data)
	return c
}

func (r *Recording) keepBytes(b []byte) []byte {
	if len(b) == 0 {
		return nil
	}
	if k, ok := r.kept[string(b)]; ok {
		return k
	}
	if r.kept == nil {
		r.kept = map[string][]byte{}
	}
	k := append([]byte(nil), b...)
	r.kept[string(k)] = k
	return k
}

// Count is how many transactions have that fate.
func (r *Recording) Count(f Fate) (n int) {
	for i := range r.Transactions {
		if r.Transactions[i].Fate == f {
			n++
		}
	}
	return n
}
