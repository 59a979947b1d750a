package serialio

import (
	"context"
	"time"
)

// clocked is a line whose hardware clocks characters out by itself.
type clocked interface {
	// Discard drops what was written and has not left yet.
	Discard() error
}

// drained is a clocked line that can tell when what was written has left, as far as
// its hardware knows.
type drained interface{ Drain() error }

// Send transmits chars: the first start bit is due at at, or now if that is
// past; lead and tail are how long the carrier is on before it and behind the
// last stop bit, where the port keys one. It blocks until the last character
// has left. When ctx ends it stops before the next character. Messages of
// several callers leave one after the other. An error is an [*OpError].
//
// With [RTSKeys], RTS goes on at lead before the first start bit, or now and the
// first start bit lead later. It goes off behind tail, or behind Modem.Hold if
// that is longer, counted from when the last stop bit should have left and the
// port says that it has; that can be too early where an adapter does not know.
// Send does not wait for that: a message whose lead begins by then goes on with
// the same carrier, so a message may be sent in pieces.
//
// On a pty or TCP each character is written when its stop bit ends, counted
// from at; those that are late already go at once.
func (p *Port) Send(ctx context.Context, at time.Time, lead, tail time.Duration, chars []byte) error {
	if err := p.send(ctx, at, lead, tail, chars); err != nil {
		return &OpError{"send", p.name, err}
	}
	return nil
}

func (p *Port) send(ctx context.Context, at time.Time, lead, tail time.Duration, chars []byte) error {
	if err := p.stopped(ctx); err != nil {
		return err
	}
	select {
	case p.sending <- struct{}{}:
		defer func() { <-p.sending }()
	case <-ctx.Done():
		return ctx.Err()
	case <-p.closed:
		return ErrClosed
	}
	if p.keys() {
		return p.sendKeyed(ctx, at, lead, tail, chars)
	}
	return p.transmit(ctx, at, chars)
}

func (p *Port) transmit(ctx context.Context, at time.Time, chars []byte) (err error) {
	defer p.releaseWrites(ctx)()
	defer func() {
		if err != nil {
			p.echo.cut(time.Now())
		}
	}()
	if l, ok := p.line.(clocked); ok {
		return p.sendMessage(ctx, l, at, chars)
	}
	return p.sendPaced(ctx, at, chars)
}

// sendPaced counts every character from at, so that lateness never adds up.
func (p *Port) sendPaced(ctx context.Context, at time.Time, chars []byte) error {
	p.echo.begin(len(chars), time.Now(), at.Add(p.settings.Characters(len(chars))))
	for i := range chars {
		if err := p.wait(ctx, at.Add(p.settings.Characters(i+1))); err != nil {
			return err
		}
		if err := p.write(ctx, chars[i:i+1]); err != nil {
			return err
		}
	}
	return nil
}

func (p *Port) sendMessage(ctx context.Context, l clocked, at time.Time, chars []byte) error {
	if err := p.wait(ctx, at); err != nil {
		return err
	}
	start := time.Now()
	p.echo.begin(len(chars), start, start.Add(p.settings.Characters(len(chars))))
	if err := p.write(ctx, chars); err != nil {
		return err
	}
	err := p.wait(ctx, start.Add(p.settings.Characters(len(chars))))
	if err != nil {
		l.Discard() // the reason for stopping is worth more than its error
	}
	return err
}

func (p *Port) write(ctx context.Context, chars []byte) error {
	p.echo.sent(chars)
	_, err := p.line.Write(chars)
	if err == nil {
		return nil
	}
	if why := p.stopped(ctx); why != nil {
		return why
	}
	return cause(err)
}

// releaseWrites lets the end of ctx release a write that nobody reads, until
// the function that it returns is called.
func (p *Port) releaseWrites(ctx context.Context) func() {
	released := make(chan struct{})
	stop := context.AfterFunc(ctx, func() {
		p.line.SetWriteDeadline(time.Unix(1, 0))
		close(released)
	})
	return func() {
		if !stop() {
			<-released
			p.line.SetWriteDeadline(time.Time{})
		}
	}
}
