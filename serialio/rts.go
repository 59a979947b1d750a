package serialio

import (
	"context"
	"fmt"
	"time"
)

// keys reports whether a modem is keyed for every message.
func (p *Port) keys() bool { return p.modem != nil && p.settings.Modem.RTS == RTSKeys }

// sendKeyed has RTS on around a message, and for a while behind it: what is due by then
// goes on with the same carrier. It takes RTS away whatever fails: a modem that stays
// keyed keeps everybody else off the loop.
func (p *Port) sendKeyed(ctx context.Context, at time.Time, lead, tail time.Duration, chars []byte) error {
	at, err := p.keyOn(ctx, at, lead)
	if err == nil {
		err = p.transmit(ctx, at, chars)
	}
	if err == nil {
		err = p.drain()
	}
	if err != nil {
		p.keyOff() // what failed first is worth more than its error
		return err
	}
	return p.keyFor(max(tail, p.settings.Modem.Hold))
}

// keyOn has RTS on lead before at, and returns when the first start bit is due then.
func (p *Port) keyOn(ctx context.Context, at time.Time, lead time.Duration) (time.Time, error) {
	on := at.Add(-lead)
	if p.isKeyed() {
		if !on.After(p.keyedUntil) {
			return at, nil
		}
		// The end of ctx must not cut what is on its way from the message before.
		if err := p.wait(context.WithoutCancel(ctx), p.keyedUntil); err != nil {
			return at, err
		}
		if err := p.keyOff(); err != nil {
			return at, err
		}
	}
	if err := p.wait(ctx, on); err != nil {
		return at, err
	}
	p.keyedUntil = time.Now()
	if err := p.modem.SetRTS(true); err != nil {
		return at, fmt.Errorf("RTS on: %w", cause(err))
	}
	return latest(at, time.Now().Add(lead)), nil
}

func (p *Port) drain() error {
	if l, ok := p.line.(drained); ok {
		if err := l.Drain(); err != nil {
			return fmt.Errorf("drain: %w", cause(err))
		}
	}
	return nil
}

// keyFor leaves RTS on for d, unless another message makes that longer.
func (p *Port) keyFor(d time.Duration) error {
	if d <= 0 {
		return p.keyOff()
	}
	p.keyedUntil = time.Now().Add(d)
	time.AfterFunc(d, p.lapse)
	return nil
}

// lapse takes RTS away when its time has come. Who has the token sees to that himself.
func (p *Port) lapse() {
	select {
	case p.sending <- struct{}{}:
		defer func() { <-p.sending }()
	default:
		return
	}
	if time.Now().Before(p.keyedUntil) {
		return
	}
	if p.keyOff() != nil {
		p.closeLine() // lowers RTS, and ends the port
	}
}

// keyOff takes RTS away, if it is on.
func (p *Port) keyOff() error {
	if !p.isKeyed() {
		return nil
	}
	p.keyedUntil = time.Time{}
	if err := p.modem.SetRTS(false); err != nil {
		return fmt.Errorf("RTS off: %w", cause(err))
	}
	return nil
}

func (p *Port) isKeyed() bool { return !p.keyedUntil.IsZero() }

func latest(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
