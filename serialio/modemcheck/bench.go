package modemcheck

import (
	"context"
	"fmt"
	"time"

	"looptone/frame"
	"looptone/serialio"
)

// An End is a port, as far as a test needs it; [serialio.Port] is one.
type End interface {
	Name() string
	// Send transmits chars, the first start bit at at, and returns when the last
	// character has left.
	Send(ctx context.Context, at time.Time, lead, tail time.Duration, chars []byte) error
	// Arrivals is closed when the end has ended; Err then tells why.
	Arrivals() <-chan frame.Arrival
	Err() error
}

var _ End = (*serialio.Port)(nil)

// A Bench is where a test takes place.
type Bench struct{ Timing Timing }

// Loopback sends a plan through one port whose own messages come back.
func (b *Bench) Loopback(ctx context.Context, port End, plan []Message) (*Report, error) {
	return b.run(ctx, &hooked{hookup: LoopedBack, ends: []End{port}, ears: []int{0}}, plan)
}

// Pair sends a plan through two ports with a modem each.
func (b *Bench) Pair(ctx context.Context, first, second End, plan []Message) (*Report, error) {
	return b.run(ctx, &hooked{hookup: TwoPorts, ends: []End{first, second}, ears: []int{1, 0}}, plan)
}

// hooked is a hook-up, with what is sent and heard.
type hooked struct {
	hookup Hookup
	ends   []End
	ears   []int // of each end that sends, the one that hears it
	sent   [2][]Sent
	heard  [2]*ear
}

func (b *Bench) run(ctx context.Context, h *hooked, plan []Message) (*Report, error) {
	began := time.Now()
	stop := make(chan struct{})
	for i, end := range h.ends {
		h.heard[i] = listen(end, h.hookup == LoopedBack, stop)
	}
	err := b.sendAll(ctx, h, plan)
	close(stop)
	for i, end := range h.ends {
		<-h.heard[i].done
		if _, ended := h.heard[i].state(); ended && err == nil {
			err = gone(end)
		}
	}
	if err != nil {
		return nil, err
	}
	r := &Report{Hookup: h.hookup, Took: time.Since(began)}
	for i, ear := range h.ears {
		w := Compare(h.sent[i], h.heard[ear].heard(), b.Timing)
		w.From, w.To = h.ends[i].Name(), h.ends[ear].Name()
		r.Ways = append(r.Ways, w)
	}
	return r, nil
}

// sendAll sends every message when it is due: behind the pause before it, and behind what
// the other end has sent when that has come.
func (b *Bench) sendAll(ctx context.Context, h *hooked, plan []Message) error {
	for i := range plan {
		m := &plan[i]
		if i > 0 && plan[i-1].From != m.From {
			if err := b.settle(ctx, h, plan[i-1].From); err != nil {
				return err
			}
		}
		if err := doze(ctx, time.Duration(m.Pause)*b.Timing.character()); err != nil {
			return err
		}
		if err := b.send(ctx, h, m); err != nil {
			return err
		}
	}
	return doze(ctx, mostLate) // for what comes late
}

// send has an end send a message. A carrier is on shortly before the first start bit.
func (b *Bench) send(ctx context.Context, h *hooked, m *Message) error {
	lead := b.Timing.bits(carrierBits)
	s := Sent{At: time.Now().Add(lead), Chars: m.Chars()}
	if err := h.ends[m.From].Send(ctx, s.At, lead, 0, s.Chars); err != nil {
		return err
	}
	h.sent[m.From] = append(h.sent[m.From], s)
	return nil
}

// quiet is the silence behind which all has come that will, in characters: a master must
// use its turn within as many.
//
// Source: FieldComm Group support article 8000040648.
const quiet = 2

// settle waits until the end of the last message was heard and the line is quiet, or for
// as long as something may still come.
func (b *Bench) settle(ctx context.Context, h *hooked, from int) error {
	last := h.sent[from][len(h.sent[from])-1]
	end := last.At.Add(time.Duration(len(last.Chars)) * b.Timing.character())
	ear := h.heard[h.ears[from]]
	return b.listen(ctx, h.ends[h.ears[from]], ear, end.Add(-b.Timing.character()/2), end.Add(mostLate))
}

// listen waits until something was heard after a moment and the line is quiet behind it,
// or until the deadline.
func (b *Bench) listen(ctx context.Context, end End, e *ear, after, deadline time.Time) error {
	silence := quiet*b.Timing.character() + b.Timing.Lateness
	for {
		last, ended := e.state()
		now, until := time.Now(), deadline
		if last.After(after) {
			until = last.Add(silence)
		}
		switch {
		case ended:
			return gone(end)
		case !now.Before(until):
			return nil
		}
		if err := e.wait(ctx, until.Sub(now)); err != nil {
			return err
		}
	}
}

func doze(ctx context.Context, d time.Duration) error {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// gone is why an end ended in the middle of a test.
func gone(end End) error {
	if err := end.Err(); err != nil {
		return err
	}
	return fmt.Errorf("%s ended", end.Name())
}
