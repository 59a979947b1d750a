package master

import (
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/sim"
)

// A Follower makes of the transactions of a master the messages that somebody who
// listens would make of them, and so learns who the devices are.
type Follower struct {
	exchange.Tracker
	Primary bool      // the master is the primary one
	Origin  time.Time // line time 0 by the wall clock; zero where it is not known

	// Each is told of every message, requests too; nil for nobody. A request that stayed
	// without a reply is told twice, the second time as that. The message is valid during
	// the call.
	Each func(*exchange.Message)

	event frame.Event
	chars []byte
}

// Observe has each transaction of a script followed that has ended; heard is told
// of it, with the reply, or with the request as one that stayed unanswered. The
// message is valid during the call.
func (f *Follower) Observe(script Script, heard func(*Transaction, *exchange.Message)) Script {
	return func(yield func(*Transaction) bool) {
		script(func(t *Transaction) bool {
			if !yield(t) {
				return false
			}
			m := f.follow(t)
			heard(t, &m)
			return true
		})
	}
}

// follow gives the message that a transaction has ended with.
func (f *Follower) follow(t *Transaction) exchange.Message {
	m := f.hear(f.request(t))
	if t.Outcome == Answered {
		return f.hear(f.reply(t))
	}
	f.event.Preambles, f.event.Raw, f.event.Start = 0, nil, f.event.End // it was told
	m.Unanswered = m.Number
	m.Waited = exchange.Elapsed{Known: true, Time: (t.Ended - t.Asked).Duration()}
	m.Span = f.span(t.Ended, t.Ended, t.Ended)
	if t.Outcome == Unreadable {
		m.Damage = m.Number
	}
	f.tell(&m)
	return m
}

// hear gives the message of an event itself, and leaves out what it ends.
func (f *Follower) hear(at exchange.Span) (m exchange.Message) {
	f.Follow(0, &f.event, at)
	for f.Next(&m) {
	}
	f.tell(&m)
	return m
}

func (f *Follower) tell(m *exchange.Message) {
	if f.Each != nil {
		f.Each(m)
	}
}

func (f *Follower) request(t *Transaction) exchange.Span {
	asked := frame.Frame{Kind: frame.STX, Address: t.Address, Primary: f.Primary}
	asked.SetNumber(t.Command, t.Data)
	start := t.Asked - f.say(asked, t.Preambles)
	return f.span(start-sim.Tick(t.Preambles)*sim.Character, start, t.Asked)
}

func (f *Follower) reply(t *Transaction) exchange.Span {
	begin := t.Asked + t.ResponseTime
	start := t.Ended - f.say(t.Reply, 0)
	f.event.Preambles = int(max(0, start-begin) / sim.Character)
	return f.span(begin, start, t.Ended)
}

// say makes a frame the event that is followed, and gives the time that it takes.
func (f *Follower) say(x frame.Frame, preambles int) sim.Tick {
	f.chars, _ = x.AppendBinary(f.chars[:0]) // it was on the line, so it can be written down
	f.event = frame.Event{Outcome: frame.Whole, Preambles: preambles, End: int64(len(f.chars)), Frame: x, Raw: f.chars}
	return sim.Tick(len(f.chars)) * sim.Character
}

func (f *Follower) span(begin, start, end sim.Tick) exchange.Span {
	return exchange.Span{Known: true, Begin: begin.Duration(), Start: start.Duration(), End: end.Duration(), Origin: f.Origin}
}
