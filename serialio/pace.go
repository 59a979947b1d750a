package serialio

import (
	"context"
	"errors"
	"time"
)

// wait returns nil when due has come, never before it and at most a millisecond
// behind, which the runtime's timers may take; or why there is nothing to wait for
// any more. It must not sleep in the kernel: a hundred ports that do hold up all
// others.
func (p *Port) wait(ctx context.Context, due time.Time) error {
	for {
		if err := p.stopped(ctx); err != nil {
			return err
		}
		d := time.Until(due)
		if d <= 0 {
			return nil
		}
		p.doze(ctx, d)
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
	case <-p.ended:
	}
}

// stopped is why nothing more is to be sent, if so.
func (p *Port) stopped(ctx context.Context) error {
	if p.isClosed() {
		return ErrClosed
	}
	if err := p.Err(); err != nil {
		return errors.Unwrap(err)
	}
	return ctx.Err()
}
