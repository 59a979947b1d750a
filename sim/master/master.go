// Package master is a master on a line: it knows whose turn it is, asks, and
// waits for replies no longer than the standard allows. What it asks is a script:
// a scan, a search for one device, or a poll that goes round and round.
package master

import (
	"bytes"
	"errors"
	"iter"

	"looptone/frame"
	"looptone/sim"
)

// ErrRival tells that somebody else asks with this master's bit. Two at most can
// share a line, a primary and a secondary one.
//
// Source: Allen-Bradley 1794-UM063A, p.C-1.
var ErrRival = errors.New("another master of the same kind is on the line")

// Config is what a master is.
type Config struct {
	Primary  bool     // the primary master; else the secondary one
	Lateness sim.Tick // by how much the port tells later than the line; 0 on a simulated line
	ClockPPM int32    // error of its clock: +1000 makes its bits 0.1 % longer
	Heedless bool     // goes on beside another master of its kind; else it stops with [ErrRival]
}

// A Master is a station that works through a script. It sends one request at a
// time, and only when the line is its own:
//
//	behind                              it may send
//	joining the line                    after link quiet: 33 characters (primary), 41 (secondary)
//	anything that it could not read     the same
//	a request, its own or the other's   the same, unless a reply comes
//	a reply to itself                   after link grant: 8 characters, for the other master
//	a reply to the other master         at once
//	a burst to itself                   after the next burst: this turn is the other master's
//	a burst to the other master         at once
//
// A turn that is granted ends with hold, 2 characters. When it was not used it is
// lost, and link quiet counts from what was heard last; a master that has nothing to
// ask loses its turns like that, and may send at any moment behind link quiet.
//
// On a line where a burst was heard a reply grants no turn, as a burst follows it,
// and wherever link quiet is waited for it is hold longer: so the bursting device,
// which waits for 33 characters, is the first to break the silence. When that has
// passed in silence too, no device bursts any more.
//
// While a carrier is on no master sends. After a request without a reply the primary
// master may send first, and again: as long as nobody answers it the secondary one
// waits.
//
// Nothing in a reply says which of several equal requests it answers. One that comes
// after the slave time-out is missed. If it is so late that the request was repeated
// before, it is taken for the reply to that: the device did what both ask.
//
// With its own echo in its ears a master takes its request, heard while it sends or
// right behind, for just that. A damaged echo means that somebody else talked: the
// reply is waited for as ever.
//
// Source: FieldComm Group support articles 8000040648 (timers) and 8000045189
// (what a burst grants); the use of the timers, hold on top of link quiet and what
// becomes of late replies from memory.
type Master struct {
	Config
	access access
	next   func() (*Transaction, bool)
	stop   func()
	asking *Transaction // sent and not completed
	queued *Transaction // to be sent in the next turn
	noisy  bool         // something unreadable came within the slave time-out
	joined bool
	done   bool
	err    error

	request frame.Frame // that is asked, or was last
	burst   *sim.Burst  // its
}

// New is a master that has not joined a line yet. Close it when it may not have
// come to the end of its script.
func New(c Config, script Script) *Master {
	m := &Master{Config: c, access: access{primary: c.Primary, lateness: c.Lateness}, burst: &sim.Burst{}}
	m.next, m.stop = iter.Pull(script)
	return m
}

// Done reports whether the script has come to its end.
func (m *Master) Done() bool { return m.done }

// Err tells why the master stopped before the end of its script: [ErrRival], or
// a request that could not be sent.
func (m *Master) Err() error { return m.err }

// Close ends the script.
func (m *Master) Close() { m.done = true; m.stop() }

// Step hears, completes, and sends when it is the master's turn.
func (m *Master) Step(now sim.Tick, heard []sim.Heard) (*sim.Burst, sim.Tick) {
	if !m.joined {
		m.joined = true
		m.access.wait(now)
	}
	for i := range heard {
		m.hear(&heard[i])
	}
	if m.done {
		return nil, sim.Never
	}
	if opens := m.access.opens(now, m.earliest()); now < opens {
		return nil, opens
	}
	m.complete(now, nil)
	if m.queued == nil && !m.advance() {
		return nil, sim.Never
	}
	if opens := m.access.opens(now, m.earliest()); now < opens {
		return nil, opens
	}
	return m.send(now)
}

// earliest is the moment before which there is nothing to send.
func (m *Master) earliest() sim.Tick {
	if m.queued == nil {
		return 0
	}
	return m.queued.Earliest
}

func (m *Master) hear(h *sim.Heard) {
	if h.Carrier != 0 {
		m.access.carrier(h)
		return
	}
	m.access.heard = h.End
	m.access.rest(h.Begin)
	if m.asking != nil && h.Begin > m.access.asked+sim.SlaveTimeOut+m.Lateness {
		m.complete(h.At, nil)
	}
	f := &h.Event.Frame
	whole := h.Event.Outcome == frame.Whole
	switch {
	case whole && f.Kind == frame.STX && f.Primary == m.Primary && !m.Heedless:
		m.hearOwnKind(h)
	case m.asking != nil:
		m.hearInReply(h, whole)
	case whole:
		m.access.follow(f, h.End)
	default:
		m.access.wait(h.End)
	}
}

// hearOwnKind hears a request with the master's own bit: its echo, or a rival.
func (m *Master) hearOwnKind(h *sim.Heard) {
	f, own := &h.Event.Frame, &m.request
	if m.asking != nil && h.Begin <= m.access.asked+m.Lateness+sim.Character &&
		f.Address == own.Address && f.Command == own.Command && bytes.Equal(f.Data, own.Data) {
		return
	}
	m.err = ErrRival
	m.Close()
}

// hearInReply hears what comes while a reply is waited for. What is not that leaves
// the line alone for so long that the reply may still come.
func (m *Master) hearInReply(h *sim.Heard, whole bool) {
	f := &h.Event.Frame
	behind := h.Begin > m.access.asked-sim.Character // the request, and not an echo of it
	if whole && behind && m.asking.answeredBy(f, m.Primary) {
		m.complete(h.At, h)
		m.access.follow(f, h.End)
		return
	}
	if behind && (!whole || f.Kind == frame.ACK && f.Primary == m.Primary) {
		m.hearNoise(h)
	}
	m.access.bursting = m.access.bursting || whole && f.Kind == frame.BACK
	m.access.wait(h.End)
}

// hearNoise hears something in place of a reply that is none.
func (m *Master) hearNoise(h *sim.Heard) {
	m.asking.Occupied += h.End - h.Begin
	if !m.noisy {
		m.asking.Occupied += sim.CarrierLead + sim.CarrierTail
	}
	m.noisy = true
}

// complete ends the transaction that is going on, with the reply or without.
func (m *Master) complete(now sim.Tick, reply *sim.Heard) {
	t := m.asking
	if t == nil {
		return
	}
	m.asking = nil
	t.Ended = now
	switch {
	case reply != nil:
		t.Outcome = Answered
		t.take(&reply.Event.Frame)
		t.ResponseTime, t.Late = reply.Begin-m.access.asked, m.Lateness
		t.Occupied += sim.CarrierLead + reply.End - reply.Begin + sim.CarrierTail
	case m.noisy:
		t.Outcome = Unreadable
	default:
		t.Outcome = Silent
	}
	m.advance()
}

// advance fetches the next transaction; more is false at the end of the script.
func (m *Master) advance() (more bool) {
	m.queued, more = m.next()
	m.done = !more
	return more
}

func (m *Master) send(now sim.Tick) (*sim.Burst, sim.Tick) {
	t := m.queued
	m.request = frame.Frame{Kind: frame.STX, Address: t.Address, Primary: m.Primary}
	m.request.SetNumber(t.Command, t.Data)
	b := m.blank(now)
	chars := frame.AppendPreambles(b.Chars[:0], t.Preambles)
	if chars, m.err = m.request.AppendBinary(chars); m.err != nil {
		m.Close()
		return nil, sim.Never
	}
	*b = sim.Burst{At: now, Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: chars, PPM: m.ClockPPM}
	m.asking, m.queued, m.noisy = t, nil, false
	t.Began, t.Asked, t.Occupied = now, b.Start(len(chars)), b.Off()-now
	m.access.asked = t.Asked
	m.access.wait(t.Asked)
	return b, m.access.from
}

// blank is a burst to be filled: the last one, if its carrier has gone off. Faults
// may have made it longer.
func (m *Master) blank(now sim.Tick) *sim.Burst {
	if m.burst.Off() > now {
		m.burst = &sim.Burst{}
	}
	return m.burst
}
