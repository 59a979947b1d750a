package report

import (
	"looptone/frame"
	"looptone/frame/exchange"
)

// How many messages are kept at most: the first ones, the latest ones, and of those that
// went wrong the first and the latest.
const (
	mostFirst  = 500
	mostLatest = 8000
	mostWrong  = 500 // first; and as many latest
)

// A kept message is a copy of one.
type kept struct {
	order    int64 // among all that came
	at       moment
	from, to int
	torn     bool
	place    string // where in its input its fault stands
	message  exchange.Message
	event    frame.Event
	fault    frame.FaultError
	device   exchange.Device
	raw      []byte
	rest     []byte // what of a frame is not the same slice as raw
}

// keep makes k a copy of a message, but for what its data say: that is read again.
func (k *kept) keep(m *exchange.Message) {
	k.message, k.event = *m, *m.Event
	k.message.Event = &k.event
	k.message.Reading.Values, k.message.Rival = nil, nil
	k.raw = append(k.raw[:0], m.Raw...)
	k.event.Raw = k.raw
	k.rest = append(append(k.rest[:0], m.Frame.Data...), m.Frame.Expansion...)
	data := len(m.Frame.Data)
	k.event.Frame.Data, k.event.Frame.Expansion = k.rest[:data:data], k.rest[data:]
	if m.Device != nil {
		k.device = *m.Device
		k.message.Device = &k.device
	}
	if fault, ok := m.Err.(*frame.FaultError); ok {
		k.fault = *fault
		k.event.Err = &k.fault
	}
}

// read reads the data of a kept message again, as they were read before.
func (k *kept) read() *exchange.Message {
	m := &k.message
	whole := m.Outcome == frame.Whole && m.Unanswered == 0
	if m.Reading.Values == nil && whole && m.Definition != nil {
		m.Reading.Values = m.Definition.Decode(nil, m.Frame.Kind, m.Frame.Payload(), m.Reading.Revision).Values
	}
	return m
}

// wrong reports whether something went wrong with a message.
func wrong(m *exchange.Message) bool { return m.Unanswered > 0 || m.Outcome != frame.Whole }

// A ring holds the latest messages.
type ring struct {
	slots []*kept
	most  int
	next  int
}

// slot is the one that the next message goes to.
func (r *ring) slot() *kept {
	if len(r.slots) < r.most {
		r.slots = append(r.slots, new(kept))
		return r.slots[len(r.slots)-1]
	}
	k := r.slots[r.next]
	r.next = (r.next + 1) % r.most
	return k
}

// ordered are the messages from the oldest on.
func (r *ring) ordered() []*kept {
	return append(append([]*kept{}, r.slots[r.next:]...), r.slots[:r.next]...)
}

// An archive holds the messages that are kept.
type archive struct {
	first, wrong        []*kept
	latest, latestWrong ring
	came, cameWrong     int64
}

func newArchive() archive {
	return archive{latest: ring{most: mostLatest}, latestWrong: ring{most: mostWrong}}
}

// add keeps a message where it belongs, by calling fill for each copy.
func (a *archive) add(m *exchange.Message, fill func(*kept)) {
	a.came++
	isWrong := wrong(m)
	if isWrong {
		a.cameWrong++
	}
	put := func(k *kept) {
		k.order = a.came
		k.keep(m)
		fill(k)
	}
	if len(a.first) < mostFirst {
		a.first = append(a.first, new(kept))
		put(a.first[len(a.first)-1])
		return
	}
	switch {
	case isWrong && len(a.wrong) < mostWrong:
		a.wrong = append(a.wrong, new(kept))
		put(a.wrong[len(a.wrong)-1])
	case isWrong:
		put(a.latestWrong.slot())
	default:
		put(a.latest.slot())
	}
}
