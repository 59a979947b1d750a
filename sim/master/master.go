// Package master is a master on a line: it knows whose turn it is, asks, and
// waits for replies no longer than the standard allows.
package master

import (
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
}

// A Master is a station that works through a script. It sends one request at a
// time, and only when the line is its own:
//
//	after                               it waits
//	joining the line, or anything that  link quiet: 33 characters (primary), 41 (secondary)
//	it could not read
//	a request, its own or the other's   link quiet, unless a reply comes
//	a reply to itself                   link grant: 8 characters, for the other master
//	a reply to the other master         not at all
//
// A turn of the last two kinds that is not used within hold, 2 characters, is
// lost; then it waits for link quiet.
//
// Source: FieldComm Group support article 8000040648 (timers); their use from
// memory.
type Master struct {
	Config
	next   func() (*Transaction, bool)
	stop   func()
	asking *Transaction // sent and not completed
	queued *Transaction // to be sent in the next turn
	asked  sim.Tick     // end of the request's check byte
	turn   sim.Tick     // from then on it may send
	latest sim.Tick     // until then, if the turn was granted; Never otherwise
	busy   bool         // a carrier is on
	noisy  bool         // something unreadable came within the slave time-out
	joined bool
	done   bool
	chars  []byte
	err    error
}

// New is a master that has not joined a line yet. Close it when it may not have
// come to the end of its script.
func New(c Config, script Script) *Master {
	m := &Master{Config: c}
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
		m.wait(now)
	}
	for i := range heard {
		m.hear(&heard[i])
	}
	if m.done || m.busy {
		return nil, sim.Never
	}
	if now > m.latest {
		m.wait(m.latest)
	}
	if now < m.turn {
		return nil, m.turn
	}
	m.complete(nil)
	if m.queued == nil && !m.advance() {
		return nil, sim.Never
	}
	return m.send(now)
}

// quiet is how long the line must be silent before the master takes it.
func (m *Master) quiet() sim.Tick {
	if m.Primary {
		return sim.LinkQuietPrimary + m.Lateness
	}
	return sim.LinkQuietSecondary + m.Lateness
}

// wait leaves the line alone until link quiet has passed since a moment.
func (m *Master) wait(since sim.Tick) { m.turn, m.latest = since+m.quiet(), sim.Never }

// grant gives the master a turn.
func (m *Master) grant(at sim.Tick) { m.turn, m.latest = at, at+sim.Hold+m.Lateness }

func (m *Master) hear(h *sim.Heard) {
	switch {
	case h.Carrier > 0:
		m.busy = true
	case h.Carrier < 0:
		m.busy = false
	case h.Event.Outcome != frame.Whole:
		m.hearUnreadable(h)
	case h.Event.Frame.Kind == frame.STX && h.Event.Frame.Primary == m.Primary:
		m.err = ErrRival
		m.Close()
	case h.Event.Frame.Kind == frame.STX:
		m.wait(h.End)
	case m.asking != nil && m.asking.answeredBy(&h.Event.Frame, m.Primary) && m.inTime(h):
		m.complete(h)
		m.grant(h.End + sim.LinkGrant)
	case h.Event.Frame.Primary == m.Primary:
		m.noisy = m.noisy || m.asking != nil && m.inTime(h)
		m.grant(h.End + sim.LinkGrant)
	default:
		m.grant(h.End)
	}
}

func (m *Master) hearUnreadable(h *sim.Heard) {
	if m.asking != nil && m.inTime(h) {
		m.noisy = true
	}
	m.wait(h.End)
}

// inTime reports whether what was heard began within the slave time-out.
func (m *Master) inTime(h *sim.Heard) bool {
	return h.Begin > m.asked-sim.Character && h.Begin <= m.asked+sim.SlaveTimeOut+m.Lateness
}

// complete ends the transaction that is going on, with the reply or without.
func (m *Master) complete(reply *sim.Heard) {
	t := m.asking
	if t == nil {
		return
	}
	m.asking = nil
	switch {
	case reply != nil:
		t.Outcome = Answered
		t.Reply = reply.Event.Frame.Clone()
		t.ResponseTime = reply.Begin - m.asked
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
	request := frame.Frame{Kind: frame.STX, Address: t.Address, Primary: m.Primary}
	request.SetNumber(t.Command, t.Data)
	m.chars = frame.AppendPreambles(m.chars[:0], t.Preambles)
	if m.chars, m.err = request.AppendBinary(m.chars); m.err != nil {
		m.Close()
		return nil, sim.Never
	}
	b := &sim.Burst{At: now, Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: m.chars}
	m.asking, m.queued, m.noisy = t, nil, false
	m.asked = b.Start(len(b.Chars))
	m.wait(m.asked)
	return b, m.turn
}
