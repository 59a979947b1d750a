package exchange

import (
	"slices"

	"looptone/frame"
	"looptone/frame/payload"
)

// keptWrites is how many writes are kept of the first, and of the last.
const keptWrites = 64

// WriteLog keeps the requests that change something in a device, and those of
// which that is not known: the first and the last of them, and how many there
// were.
type WriteLog struct {
	Count int64
	first []Write
	last  []Write // a ring behind first
	next  int     // in last
}

// Write is a request that changes something, or may.
type Write struct {
	When
	Primary    bool // the primary master asked
	Address    frame.Address
	Polling    int    // −1 where it is not known
	Device     string // its tag; "" where it is not known
	Revision   uint8  // 0 where it is not known
	Command    uint16
	Definition *payload.Definition // nil where it is not known whether the command writes
	Data       []byte              // without the number of an extended command
	RetryOf    int                 // number of the request that it repeats; 0 for none
	Outcome    WriteOutcome
	Response   frame.Response // where it was answered
}

// WriteOutcome is what became of a write.
type WriteOutcome uint8

const (
	WriteWaiting    WriteOutcome = iota // for its reply
	WriteAnswered                       // Response says how
	WriteUnanswered                     // it may have been done all the same
)

// mayWrite reports whether a request changes something, as far as is known.
func mayWrite(m *Message) bool { return m.Definition == nil || m.Definition.Write }

// add takes over a request, or what became of one.
func (l *WriteLog) add(m *Message) {
	if !mayWrite(m) {
		return
	}
	switch {
	case m.Unanswered > 0:
		if w := l.find(m.Unanswered); w != nil {
			w.Outcome = WriteUnanswered
		}
	case m.Frame.Kind == frame.STX:
		l.begin(m)
	case m.ReplyTo > 0:
		if w := l.find(m.ReplyTo); w != nil {
			w.Outcome, w.Response = WriteAnswered, m.Frame.Status.Response
		}
	}
}

func (l *WriteLog) begin(m *Message) {
	l.Count++
	w, f := l.room(), &m.Frame
	*w = Write{
		When: whenOf(m), Primary: f.Primary, Address: f.Address, Polling: -1,
		Command: f.Number(), Definition: m.Definition, Data: append(w.Data[:0], f.Payload()...), RetryOf: m.RetryOf,
	}
	if n, ok := f.Address.IsPolling(); ok {
		w.Polling = int(n)
	}
	if d := m.Device; d != nil {
		w.Address, w.Polling, w.Device, w.Revision = d.Unique, d.Polling, d.Name(), d.Revision
	}
}

// room is where the next write is kept.
func (l *WriteLog) room() *Write {
	if len(l.first) < keptWrites {
		l.first = append(l.first, Write{})
		return &l.first[len(l.first)-1]
	}
	if len(l.last) < keptWrites {
		l.last = append(l.last, Write{})
		return &l.last[len(l.last)-1]
	}
	w := &l.last[l.next]
	l.next = (l.next + 1) % keptWrites
	return w
}

// find is the write with that number among the newest; two masters have no more
// than two that wait.
func (l *WriteLog) find(number int) *Write {
	for back := 1; back <= 2; back++ {
		if w := l.newest(back); w != nil && w.Number == number {
			return w
		}
	}
	return nil
}

// newest is the write that was taken over so many ago, 1 for the last.
func (l *WriteLog) newest(back int) *Write {
	switch n := len(l.last); {
	case back <= n:
		return &l.last[(l.next+n-back)%n]
	case back-n <= len(l.first):
		return &l.first[len(l.first)-(back-n)]
	}
	return nil
}

// Kept are the writes that are kept, in the order in which they came. Between
// first and last there were Count less their number others.
func (l *WriteLog) Kept() (first, last []Write) {
	return keep(l.first), keep(l.last[l.next:], l.last[:l.next])
}

// keep is a copy of writes that shares nothing with them.
func keep(parts ...[]Write) []Write {
	all := slices.Concat(parts...)
	for i := range all {
		all[i].Data = slices.Clone(all[i].Data)
	}
	return all
}
