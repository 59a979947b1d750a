// Package exchange follows a conversation: it learns who the devices are, reads
// the data of every frame by the layout of the device's revision, and finds the
// request that a reply belongs to.
package exchange

import (
	"time"

	"looptone/frame"
	"looptone/frame/payload"
)

// A Tracker follows one conversation, event by event. The zero Tracker is ready.
type Tracker struct {
	events  int
	devices devices
	pending [2]request // of the secondary and of the primary master
	values  []payload.Value
}

// request is a request that waits for its reply.
type request struct {
	event   int // its number; 0 for none
	address frame.Address
	command uint8 // as on the wire
	number  uint16
	end     time.Duration
	timed   bool // end is known
}

// A Span is when an event was on the line, from some beginning on.
type Span struct {
	Begin time.Duration // first start bit, preambles included
	Start time.Duration // start bit of the delimiter
	End   time.Duration // last stop bit
}

// A Message is an event with what it means in the conversation. It is valid
// until the next call of Follow.
type Message struct {
	*frame.Event
	Number     int                 // of the event, from 1
	Definition *payload.Definition // of a frame's command; nil where nothing is known of it
	Reading    payload.Reading     // of a frame's data
	ReplyTo    int                 // number of the request that a reply belongs to; 0 for none
	Span       *Span               // nil where times are not known
	Response   *time.Duration      // of a reply, end of the request to the first start bit; nil where not known
	Device     *Device             // that a frame is to or from; nil where it has not introduced itself
}

// Follow takes the next event, and when it was, nil if that is not known.
func (t *Tracker) Follow(ev *frame.Event, at *Span) Message {
	t.events++
	m := Message{Event: ev, Number: t.events, Span: at}
	if ev.Outcome != frame.Whole {
		return m
	}
	f := &ev.Frame
	m.Device = t.devices[f.Address]
	t.pair(&m)
	m.Definition, _ = payload.Lookup(f.Number())
	t.read(&m)
	return m
}

// read reads the data of a frame. Other replies than those of a command that was
// executed carry none.
func (t *Tracker) read(m *Message) {
	f := &m.Frame
	code, ok := f.Status.Response.Code()
	if m.Definition == nil || f.Kind.FromSlave() && !(ok && payload.Executed(code)) {
		return
	}
	var revision uint8
	if m.Device != nil {
		revision = m.Device.Revision
	}
	m.Reading = m.Definition.Decode(t.values[:0], f.Kind, f.Payload(), revision)
	t.values = m.Reading.Values
	if f.Kind.FromSlave() {
		if t.devices == nil {
			t.devices = devices{}
		}
		t.devices.learn(f, &m.Reading)
		m.Device = t.devices[f.Address]
	}
}

// pair remembers a request, or finds the one that a reply belongs to: the last
// of the same master to the same address with the same command.
func (t *Tracker) pair(m *Message) {
	f := &m.Frame
	last := &t.pending[0]
	if f.Primary {
		last = &t.pending[1]
	}
	switch {
	case f.Kind == frame.STX:
		*last = request{event: m.Number, address: f.Address, command: f.Command, number: f.Number()}
		if m.Span != nil {
			last.end, last.timed = m.Span.End, true
		}
	case f.Kind == frame.ACK && last.event > 0 && last.answeredBy(f):
		m.ReplyTo = last.event
		if m.Span != nil && last.timed {
			after := m.Span.Begin - last.end
			m.Response = &after
		}
		*last = request{}
	}
}

// answeredBy reports whether f can be the reply to r. A reply has the form of
// address that its request had; to all devices, that of the one that answers. A
// reply without data, as one that tells of communication errors, does not repeat
// an extended number.
//
// Source: Allen-Bradley 1770-HT8 manual, p.4-10 (form of the address).
func (r *request) answeredBy(f *frame.Frame) bool {
	if f.Command != r.command || f.Number() != r.number && len(f.Data) > 0 {
		return false
	}
	_, short := f.Address.IsPolling()
	return f.Address == r.address || r.address.IsBroadcast() && !short
}
