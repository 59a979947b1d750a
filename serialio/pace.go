package serialio

import (
	"context"
	"time"
)

// fine is the stretch before a due time that is slept with nap. The runtime's
// timers can wake a millisecond late, which is too much for a character.
const fine = 2 * time.Millisecond

// wait returns nil when due has come, never before it; or why there is nothing
// to wait for any more.
func (p *Port) wait(ctx context.Context, due time.Time) error {
	for {
		if err := p.stopped(ctx); err != nil {
			return err
		}
		switch d := time.Until(due); {
		case d <= 0:
			return nil
		case d <= fine:
			nap(d)
		default:
			p.doze(ctx, d-fine)
		}
	}
}

// doze sleeps for d, or until the port or ctx ends.
func (p *Port) doze(ctx context.Context, d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-ctx.Done():
	case <-p.closed:
	}
}

// stopped is why nothing more is to be sent, if so.
func (p *Port) stopped(ctx context.Context) error {
	if p.isClosed() {
		return ErrClosed
	}
	return ctx.Err()
}
