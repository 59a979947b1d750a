package serialio

import (
	"context"
	"fmt"
	"time"
)

// keys reports whether a modem is keyed for every message.
func (p *Port) keys() bool { return p.modem != nil && p.settings.Modem.RTS == RTSKeys }

// sendKeyed has RTS on around a message. It takes RTS away whatever happens: a modem
// that stays keyed keeps everybody else off the loop.
func (p *Port) sendKeyed(ctx context.Context, at time.Time, lead, tail time.Duration, chars []byte) (err error) {
	if err := p.wait(ctx, at.Add(-lead)); err != nil {
		return err
	}
	defer func() {
		if off := p.modem.SetRTS(false); off != nil && err == nil {
			err = fmt.Errorf("RTS off: %w", cause(off))
		}
	}()
	if err := p.modem.SetRTS(true); err != nil {
		return fmt.Errorf("RTS on: %w", cause(err))
	}
	if err := p.transmit(ctx, latest(at, time.Now().Add(lead)), chars); err != nil {
		return err
	}
	if l, ok := p.line.(drained); ok {
		if err := l.Drain(); err != nil {
			return fmt.Errorf("drain: %w", cause(err))
		}
	}
	// The end of ctx must not cut the last character, which may be on its way still.
	return p.wait(context.WithoutCancel(ctx), time.Now().Add(max(tail, p.settings.Modem.Hold)))
}

func latest(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
