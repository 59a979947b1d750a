// Package exchange follows a conversation: it learns who the devices are, reads
// the data of every frame by the layout of the device's revision, finds the
// request that a reply belongs to and the requests that nobody answered, and
// counts.
package exchange

import (
	"looptone/frame"
	"looptone/frame/payload"
)

// A Tracker follows one conversation, event by event, on one stream or several.
// The zero Tracker is ready. Follow takes an event; then Next gives the messages
// that come of it, until it is false:
//
//	t.Follow(stream, &ev, span)
//	for t.Next(&m) {
//		…
//	}
//
// A frame that is heard again on another stream gives a message that only says
// so ([Message.EchoOf]) and is part of nothing else. Where one of the two is damaged,
// the damage is told ([Message.AlsoHeard]), and asks and answers nothing.
//
// At the end of the input, End in place of Follow gives the requests that are
// still without a reply.
//
// A request is unanswered when its master asks again, when something is heard
// later than its reply could begin or [Tracker.Silence] tells that nothing was, or
// at the end of the input.
type Tracker struct {
	// Book is what is known of the commands; nil for the built-in definitions.
	Book *payload.Book
	// Unread leaves [Message.Reading] empty, for who counts and wants no values.
	Unread bool

	// Alone says that the streams come one behind the other, so that nothing can
	// be the echo of what was heard on another.
	Alone bool

	messages int
	devices  devices
	asked    [2]request // of the secondary and of the primary master
	hearings hearings
	builtIn  [256]lookup
	values   []payload.Value

	event   *frame.Event // that is being followed; nil when its message was given
	stream  int
	span    Span
	echoOf  int
	also    int
	behind  place       // the last event, echoes left out
	silence frame.Event // of an unanswered request
}

// place is where something stands, and when it was there.
type place struct {
	stream int
	pos    int64
	at     Span // one moment
}

// Follow takes the next event of a stream, and when it was. The event must stay
// as it is until Next is false.
func (t *Tracker) Follow(stream int, ev *frame.Event, at Span) {
	t.event, t.stream, t.span = ev, stream, at
	if t.echoOf, t.also = 0, 0; !t.Alone {
		t.echoOf = t.hearings.echoed(ev, stream, &at, t.messages)
		t.also = t.hearings.beside(ev, stream, &at)
	}
	switch {
	case t.echoOf > 0 || t.also > 0 && ev.Outcome != frame.Whole:
		return
	case t.also > 0:
		t.forget(t.also)
	}
	asking := kindOf(ev) == frame.STX && (ev.Outcome == frame.Whole || fieldOf(ev) > frame.FieldAddress)
	for i := range t.asked {
		if r := &t.asked[i]; r.overdueAt(&at) || asking && i == master(&ev.Frame) {
			r.lapse()
		}
	}
}

// Silence says that nothing else was heard before at, on any stream. Then Next
// gives the requests whose replies can not come any more.
func (t *Tracker) Silence(at Span) {
	if !at.Known || t.behind.at.Known && at.Begin < t.behind.at.Begin {
		return
	}
	t.behind.at = at.moment(at.Begin)
	for i := range t.asked {
		if r := &t.asked[i]; r.overdueAt(&at) {
			r.lapse()
		}
	}
}

// Introduce makes a device known before it has said anything itself. At which polling
// address it is found is learnt from what it says.
func (t *Tracker) Introduce(d Device) {
	known := t.devices.find(d.Unique)
	if known == nil {
		known = t.devices.add(d.Unique)
	}
	*known = d
}

// forget takes back a request that was heard damaged, as it is heard whole now.
func (t *Tracker) forget(number int) {
	for i := range t.asked {
		if r := &t.asked[i]; r.state == garbled && r.event == number {
			r.state = closed
		}
	}
}

// lapse gives up waiting. That nobody answered what was heard damaged is no news.
func (r *request) lapse() {
	switch r.state {
	case waiting:
		r.state = lapsed
	case garbled:
		r.state = failed
	}
}

// End ends the input: nobody answers what was asked, and nothing is heard again.
// More may be followed, as another input of the same line.
func (t *Tracker) End() {
	t.hearings = hearings{}
	for i := range t.asked {
		t.asked[i].lapse()
	}
}

// Part ends an input as End does, but says nothing of what still waits for a reply:
// a capture that ends there does not tell how it went on.
func (t *Tracker) Part() {
	t.hearings = hearings{}
	t.asked = [2]request{}
}

// Skip gives the next number to something that is no message.
func (t *Tracker) Skip() (number int) {
	t.messages++
	return t.messages
}

// Next gives the next message; false when there is none until the next event.
func (t *Tracker) Next(m *Message) bool {
	if i := t.lapsed(); i >= 0 {
		t.tellUnanswered(m, i)
		return true
	}
	if t.event == nil {
		return false
	}
	t.tell(m)
	t.event = nil
	return true
}

// lapsed is the master whose request is to be told as unanswered, that of the
// older one first; −1 for none.
func (t *Tracker) lapsed() int {
	a, b := &t.asked[0], &t.asked[1]
	switch {
	case a.state == lapsed && (b.state != lapsed || a.event < b.event):
		return 0
	case b.state == lapsed:
		return 1
	}
	return -1
}

func (t *Tracker) tellUnanswered(m *Message, i int) {
	r := &t.asked[i]
	r.state = failed
	t.messages++
	here := t.here()
	t.silence = frame.Event{Start: here.pos, End: here.pos, Frame: r.frame(i == 1)}
	*m = Message{Event: &t.silence, Number: t.messages, Stream: here.stream, Unanswered: r.event, Damage: r.damage}
	m.Span = here.at
	m.Waited = r.elapsed(&here.at)
	m.Device = t.devices.find(r.address)
	m.Definition = t.definition(r.number, r.address, m.Device)
}

// here is how far the conversation has come: in front of the event that is being
// followed, or behind the last.
func (t *Tracker) here() place {
	if ev := t.event; ev != nil {
		return place{t.stream, ev.Start - int64(ev.Preambles), t.span.moment(t.span.Begin)}
	}
	return t.behind
}

// tell gives the message of the event itself.
func (t *Tracker) tell(m *Message) {
	*m = Message{} // and then the members one by one, which is quicker
	m.Event, m.Stream = t.event, t.stream
	if t.span.Known {
		m.Span = t.span
	}
	if m.EchoOf, m.AlsoHeard = t.echoOf, t.also; m.EchoOf > 0 {
		return
	}
	t.messages++
	m.Number = t.messages
	if !t.Alone && m.Outcome != frame.Noise {
		t.hearings.keep(m)
	}
	switch m.Outcome {
	case frame.Whole:
		t.tellFrame(m)
	case frame.Damaged:
		t.tellDamage(m)
	}
	t.behind.stream, t.behind.pos = t.stream, m.End
	if t.span.Known || t.behind.at.Known {
		t.behind.at = t.span.moment(t.span.End)
	}
}

func (t *Tracker) tellFrame(m *Message) {
	f := &m.Frame
	m.Device = t.devices.find(f.Address)
	asked := t.pair(m)
	m.Definition = t.definition(f.Number(), f.Address, m.Device)
	if tellsOfDevice(f.Number()) && executed(f) {
		t.devices.learn(m, asked)
		m.Device = t.devices.find(f.Address)
	}
	if !t.Unread {
		t.read(m)
	}
}

// read reads the data of a frame by the layout of its device's revision.
func (t *Tracker) read(m *Message) {
	f := &m.Frame
	if m.Definition == nil || f.Kind.FromSlave() && !executed(f) {
		return
	}
	var revision uint8
	if m.Device != nil {
		revision = m.Device.Revision
	}
	m.Reading = m.Definition.Decode(t.values[:0], f.Kind, f.Payload(), revision)
	t.values = m.Reading.Values
}

// pair remembers a request, or gives the one that a reply belongs to: the last
// of the same master to the same address with the same command. nil for none.
func (t *Tracker) pair(m *Message) *request {
	f := &m.Frame
	last := &t.asked[master(f)]
	switch {
	case f.Kind == frame.STX:
		if last.repeatedBy(f) {
			m.RetryOf = last.event
		}
		last.ask(m)
	case f.Kind == frame.ACK && last.answeredBy(f):
		last.answer(m)
		return last
	}
	return nil
}

// master is where the requests are kept of the master that asks or is answered.
func master(f *frame.Frame) int {
	if f.Primary {
		return 1
	}
	return 0
}

// tellDamage makes of damage what can be known: a request that is read up to its
// command may still be answered; what else is heard may be the reply.
func (t *Tracker) tellDamage(m *Message) {
	f, field := &m.Frame, fieldOf(m.Event)
	if field > frame.FieldAddress {
		m.Device = t.devices.find(f.Address)
	}
	if m.AlsoHeard > 0 {
		return
	}
	if kindOf(m.Event) == frame.STX {
		if field > frame.FieldCommand {
			t.asked[master(f)].ask(m)
		}
		return
	}
	if r := t.newest(); r != nil {
		r.damage = m.Number
		if m.Device == nil {
			m.Device = t.devices.find(r.address)
		}
	}
}

// newest is the request that was asked last of those that wait; nil for none.
func (t *Tracker) newest() (r *request) {
	for i := range t.asked {
		if a := &t.asked[i]; a.state == waiting && (r == nil || a.event > r.event) {
			r = a
		}
	}
	return r
}

// lookup is what was found of a command.
type lookup struct {
	done       bool
	definition *payload.Definition
}

// definition finds what is known of a command of that device, nil if nothing is.
// What is built in is the same for all devices and sought once.
func (t *Tracker) definition(number uint16, to frame.Address, d *Device) *payload.Definition {
	if d != nil {
		to = d.Unique
	}
	own := t.Book != nil || int(number) >= len(t.builtIn)
	if !own && t.builtIn[number].done {
		return t.builtIn[number].definition
	}
	definition, _ := t.Book.Lookup(number, payload.DeviceTypeOf(to))
	if !own {
		t.builtIn[number] = lookup{true, definition}
	}
	return definition
}
