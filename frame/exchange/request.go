package exchange

import (
	"bytes"
	"time"

	"looptone/frame"
	"looptone/frame/payload"
)

// overdue is how long behind a request its reply may begin: the slave time-out
// of 28 characters, and a second for captures that give no more than seconds.
//
// Source: FieldComm Group support article 8000040648 (slave time-out, character
// time).
const overdue = 28*frame.Character + time.Second

// state is how a request fares.
type state uint8

const (
	closed  state = iota // answered, or there is none
	waiting              // for its reply
	garbled              // heard damaged; it may be answered, and need not be
	lapsed               // unanswered, and that is to be told
	failed               // unanswered, or heard with errors by the device
)

// request is the last one of a master.
type request struct {
	state   state
	event   int // its number
	address frame.Address
	command uint8 // as on the wire
	number  uint16
	end     time.Duration
	late    time.Duration // by which end may be too late
	timed   bool          // end is known
	damage  int           // number of the last damage heard since that may be the reply
	whole   bool          // data are all that was sent
	size    int
	data    [frame.MaxCount]byte
}

// ask makes r the request of m.
func (r *request) ask(m *Message) {
	f := &m.Frame
	r.state, r.whole = waiting, true
	if m.Outcome != frame.Whole {
		r.state, r.whole = garbled, false
	}
	r.event, r.damage = m.Number, 0
	r.address, r.command, r.number = f.Address, f.Command, f.Number()
	r.end, r.late, r.timed = m.Span.End, m.Span.Late, m.Span.Known
	r.size = copy(r.data[:], f.Data)
}

// repeatedBy reports whether f is r once more: because nobody answered, because
// the device heard it with errors, or because it was heard damaged here, where
// its data are not known.
func (r *request) repeatedBy(f *frame.Frame) bool {
	return r.state == failed && r.address == f.Address && r.command == f.Command &&
		(!r.whole || bytes.Equal(r.data[:r.size], f.Data))
}

// answeredBy reports whether f can be the reply to r. A reply has the form of
// address that its request had; to all devices, that of the one that answers. A
// reply without data, as one that tells of communication errors, does not repeat
// an extended number.
//
// Source: Allen-Bradley 1770-HT8 manual, p.4-10 (form of the address).
func (r *request) answeredBy(f *frame.Frame) bool {
	if r.state != waiting && r.state != garbled || f.Command != r.command ||
		f.Number() != r.number && len(f.Data) > 0 {
		return false
	}
	_, short := f.Address.IsPolling()
	return f.Address == r.address || r.address.IsBroadcast() && !short
}

// answer closes r with the reply m.
func (r *request) answer(m *Message) {
	m.ReplyTo, m.RequestDamaged, m.RequestToAll = r.event, !r.whole, r.address.IsBroadcast()
	if r.whole { // where damage ended the request need not have ended
		m.Response = r.elapsed(&m.Span)
	}
	r.state = closed
	if _, errs := m.Frame.Status.Response.Errors(); errs {
		r.state = failed
	}
}

// elapsed is the time from the end of r to the begin of at. Times of a capture can
// be so coarse that the later one seems to come first; then nothing is known.
func (r *request) elapsed(at *Span) Elapsed {
	if !at.Known || !r.timed || at.Begin < r.end {
		return Elapsed{}
	}
	return Elapsed{Known: true, Time: at.Begin - r.end, Uncertainty: max(r.late, at.Late)}
}

// overdueAt reports whether what begins at at is surely no reply to r any more.
func (r *request) overdueAt(at *Span) bool {
	return at.Known && r.timed && at.Begin-at.Late-r.end > overdue
}

// frame is the request as it was heard.
func (r *request) frame(primary bool) frame.Frame {
	return frame.Frame{Kind: frame.STX, Address: r.address, Primary: primary, Command: r.command, Data: r.data[:r.size]}
}

// executed reports whether f is a reply, or a burst, of a command that was
// executed. Other replies carry no data.
func executed(f *frame.Frame) bool {
	code, ok := f.Status.Response.Code()
	return f.Kind.FromSlave() && ok && payload.Executed(code)
}
