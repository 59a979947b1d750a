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

// message is a run of characters to send.
type message struct {
	ctx        context.Context // ends when the line turns out to carry something else
	cancel     context.CancelFunc
	at         time.Time // first start bit
	lead, tail time.Duration
	chars      []byte
	end        sim.Tick
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
	last := chars[len(chars)-1]
	start := last.End - sim.Tick(len(chars))*sim.Character // of characters that came in at once: they go at once
	m := message{at: o.runner.time(start), end: last.End,
		lead: max(start-now, 0).Duration(), tail: max(off-last.End, 0).Duration()}
	for _, c := range chars {
		m.chars = append(m.chars, c.Value)
	}
	m.ctx, m.cancel = context.WithDeadline(context.Background(), o.runner.time(last.End).Add(m.tail+patience))
	select {
	case o.mail <- m:
		o.last = m
	default:
		m.cancel()
	}
}

// send sends one message after the other until ctx ends. A wire that fails ends
// its arrivals, which is where that is dealt with.
func (o *outlet) send(ctx context.Context, w Wire) {
	for {
		select {
		case m := <-o.mail:
			stop := context.AfterFunc(ctx, m.cancel)
			w.Send(m.ctx, m.at, m.lead, m.tail, m.chars)
			stop()
			m.cancel()
		case <-ctx.Done():
			return
		}
	}
}
