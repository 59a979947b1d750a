package main

import (
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/sim"
	"looptone/sim/master"
)

// A follower makes of the transactions of a master the messages that somebody who
// listens would make of them, and so learns who the devices are.
type follower struct {
	exchange.Tracker
	primary bool
	origin  time.Time // line time 0 by the wall clock; zero where it is not known

	event frame.Event
	chars []byte
}

// observe has each transaction of a script followed that has ended; heard is told
// of it, with the reply, or with the request as one that stayed unanswered. The
// message is valid during the call.
func (f *follower) observe(script master.Script, heard func(*master.Transaction, *exchange.Message)) master.Script {
	return func(yield func(*master.Transaction) bool) {
		script(func(t *master.Transaction) bool {
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
func (f *follower) follow(t *master.Transaction) exchange.Message {
	m := f.hear(f.request(t))
	if t.Outcome == master.Answered {
		return f.hear(f.reply(t))
	}
	m.Unanswered = m.Number
	m.Waited = exchange.Elapsed{Known: true, Time: (t.Ended - t.Asked).Duration()}
	m.Span = f.span(t.Ended, t.Ended, t.Ended)
	if t.Outcome == master.Unreadable {
		m.Damage = m.Number
	}
	return m
}

// hear gives the message of an event itself, and leaves out what it ends.
func (f *follower) hear(at exchange.Span) (m exchange.Message) {
	f.Follow(0, &f.event, at)
	for f.Next(&m) {
	}
	return m
}

func (f *follower) request(t *master.Transaction) exchange.Span {
	asked := frame.Frame{Kind: frame.STX, Address: t.Address, Primary: f.primary}
	asked.SetNumber(t.Command, t.Data)
	start := t.Asked - f.say(asked, t.Preambles)
	return f.span(start-sim.Tick(t.Preambles)*sim.Character, start, t.Asked)
}

func (f *follower) reply(t *master.Transaction) exchange.Span {
	begin := t.Asked + t.ResponseTime
	start := t.Ended - f.say(t.Reply, 0)
	f.event.Preambles = int(max(0, start-begin) / sim.Character)
	return f.span(begin, start, t.Ended)
}

// say makes a frame the event that is followed, and gives the time that it takes.
func (f *follower) say(x frame.Frame, preambles int) sim.Tick {
	f.chars, _ = x.AppendBinary(f.chars[:0]) // it was on the line, so it can be written down
	f.event = frame.Event{Outcome: frame.Whole, Preambles: preambles, Frame: x, Raw: f.chars}
	return sim.Tick(len(f.chars)) * sim.Character
}

func (f *follower) span(begin, start, end sim.Tick) exchange.Span {
	return exchange.Span{Known: true, Begin: begin.Duration(), Start: start.Duration(), End: end.Duration(), Origin: f.origin}
}
