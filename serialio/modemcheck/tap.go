package modemcheck

import (
	"context"
	"sync"
	"time"

	"looptone/frame"
)

// A Tap stands between a port and what answers there, and keeps what passes either way.
type Tap struct {
	end      End
	arrivals chan frame.Arrival
	ear      *ear
	stop     chan struct{}
	once     sync.Once
	copied   chan struct{}

	mu   sync.Mutex
	sent []Sent
}

// NewTap taps a port; Close ends it, and not the port.
func NewTap(end End) *Tap {
	t := &Tap{
		end: end, arrivals: make(chan frame.Arrival), stop: make(chan struct{}), copied: make(chan struct{}),
		ear: &ear{news: make(chan struct{}, 1)},
	}
	go t.copy()
	return t
}

func (t *Tap) copy() {
	defer close(t.copied)
	defer close(t.arrivals)
	for {
		select {
		case a, ok := <-t.end.Arrivals():
			if !ok {
				t.ear.end()
				return
			}
			if a.Echo == frame.NoEcho {
				t.ear.hear(a)
			}
			select {
			case t.arrivals <- a:
			case <-t.stop:
				return
			}
		case <-t.stop:
			return
		}
	}
}

// Close stops handing on what comes in.
func (t *Tap) Close() {
	t.once.Do(func() { close(t.stop) })
	<-t.copied
}

// Name is that of the port.
func (t *Tap) Name() string { return t.end.Name() }

// Err is that of the port.
func (t *Tap) Err() error { return t.end.Err() }

// Arrivals is what comes in, and is closed with the port or the tap.
func (t *Tap) Arrivals() <-chan frame.Arrival { return t.arrivals }

// Send has the port send. What did not leave to its end is not kept.
func (t *Tap) Send(ctx context.Context, at time.Time, lead, tail time.Duration, chars []byte) error {
	if now := time.Now(); at.Before(now) {
		at = now
	}
	if err := t.end.Send(ctx, at, lead, tail, chars); err != nil {
		return err
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.sent = append(t.sent, Sent{At: at, Chars: append([]byte(nil), chars...)})
	return nil
}

func (t *Tap) said() []Sent {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.sent
}
