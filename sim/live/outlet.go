package live

import (
	"context"
	"time"

	"looptone/sim"
)

// backlog is how many messages wait for a wire whose other end does not read, and
// patience how long one does. What comes on top of them, or waits longer, is
// lost, as on a real line.
const (
	backlog  = 64
	patience = time.Second
)

// An outlet is the seat of a wire: what the line will carry goes out through it.
type outlet struct {
	runner *Runner
	mail   chan message
	last   message
}

// message is what the line will carry, as it is known so far.
type message struct {
	ctx        context.Context // ends when the line turns out to carry something else
	cancel     context.CancelFunc
	lead, tail time.Duration // carrier before its first run, and behind its last
	runs       []run
	end        sim.Tick
	planned    bool // by a station of the line; else it goes from wire to wire, at once
}

// A run is characters one right behind the other.
type run struct {
	at    time.Time // first start bit
	chars []byte
}

// Step: an outlet says nothing by itself; what comes in over the wire arrives on
// the line without it.
func (o *outlet) Step(sim.Tick, []sim.Heard) (*sim.Burst, sim.Tick) { return nil, sim.Never }

// Expect has the characters sent instead of those that it was told before and
// that have not ended.
func (o *outlet) Expect(now sim.Tick, chars []sim.Char, off sim.Tick) {
	if o.last.cancel != nil && o.last.end > now {
		o.last.cancel()
	}
	if len(chars) == 0 {
		return
	}
	end := chars[len(chars)-1].End
	m := message{end: end, tail: max(off-end, 0).Duration(), lead: max(chars[0].Start-now, 0).Duration(), planned: chars[0].Start >= now}
	for len(chars) > 0 {
		n := runLen(chars)
		m.runs = append(m.runs, o.run(chars[:n]))
		chars = chars[n:]
	}
	m.ctx, m.cancel = context.WithDeadline(context.Background(), o.runner.time(end).Add(m.tail+patience))
	select {
	case o.mail <- m:
		o.last = m
	default:
		m.cancel()
	}
}

// runLen is how many of the characters follow each other without a pause.
func runLen(chars []sim.Char) int {
	n := 1
	for n < len(chars) && chars[n].Start <= chars[n-1].End {
		n++
	}
	return n
}

// run is a run of characters. Those that came in at once have no times of their
// own: they are counted back from the last, so they go at once too.
func (o *outlet) run(chars []sim.Char) run {
	start := chars[len(chars)-1].End - sim.Tick(len(chars))*sim.Character
	r := run{at: o.runner.time(start)}
	for _, c := range chars {
		r.chars = append(r.chars, c.Value)
	}
	return r
}

// send sends one message after the other until ctx ends.
func (o *outlet) send(ctx context.Context, w Wire) {
	for {
		select {
		case m := <-o.mail:
			stop := context.AfterFunc(ctx, m.cancel)
			o.deliver(m, w)
			stop()
			m.cancel()
		case <-ctx.Done():
			return
		}
	}
}

// deliver sends one message. A wire that fails ends its arrivals, which is where
// that is dealt with.
func (o *outlet) deliver(m message, w Wire) {
	if by := time.Since(m.runs[0].at); m.planned && by > sim.Hold.Duration() {
		o.runner.tellLate(by)
	}
	for i, r := range m.runs {
		lead, tail := m.lead, m.tail
		if i > 0 {
			lead = 0
		}
		if i < len(m.runs)-1 { // the carrier stays on until the next run
			end := r.at.Add((sim.Tick(len(r.chars)) * sim.Character).Duration())
			tail += max(m.runs[i+1].at.Sub(end), 0)
		}
		if w.Send(m.ctx, r.at, lead, tail, r.chars) != nil {
			return
		}
	}
}
