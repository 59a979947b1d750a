package main

import (
	"context"
	"errors"
	"sync"
	"time"

	"looptone/frame"
	"looptone/serialio"
)

// A relay sends to one port what has come in at another, at once. Nobody waits for it.
type relay struct {
	say func(string)

	mu      sync.Mutex
	wire    *serialio.Port // nil while there is none
	chars   []byte         // that wait
	dropped bool           // it was said that some are

	wake chan struct{} // holds a token when there is something to send
}

// How many characters wait for a port, how many are sent at once, and for how much longer
// than they take on the line it is tried. What comes later than that is of no use to
// anybody.
const (
	mostWaiting = 64 << 10
	mostAtOnce  = 64
	tooLate     = time.Second
)

// How long a carrier is on in front of the first start bit and behind the last stop bit,
// where there is a modem to be keyed: 5 bits and 3, of 11 in a character.
var relayLead, relayTail = frame.Characters(5) / 11, frame.Characters(3) / 11

func newRelay(say func(string)) *relay { return &relay{say: say, wake: make(chan struct{}, 1)} }

// connect sends to another wire from now on; what waited for the last one is too old.
func (r *relay) connect(wire *serialio.Port) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.wire, r.chars, r.dropped = wire, nil, false
}

// pass takes characters, unless nobody is there for whom they could be.
func (r *relay) pass(chars []byte) {
	r.mu.Lock()
	if r.wire != nil {
		r.chars = append(r.chars, chars...)
	}
	wire, full := r.wire, len(r.chars) > mostWaiting
	r.mu.Unlock()
	if full {
		r.drop(wire)
	}
	select {
	case r.wake <- struct{}{}:
	default:
	}
}

// drop drops what waits for a wire that does not take it.
func (r *relay) drop(wire *serialio.Port) {
	r.mu.Lock()
	news := r.wire == wire && !r.dropped
	if r.wire == wire {
		r.chars, r.dropped = nil, true
	}
	r.mu.Unlock()
	if news {
		r.say(wire.Name() + " does not take what is passed on: it is dropped")
	}
}

// run sends until ctx ends. What cannot be sent is lost with its wire, whose end its tap
// tells.
func (r *relay) run(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-r.wake:
		}
		for wire, chars := r.waiting(); len(chars) > 0; wire, chars = r.waiting() {
			r.send(ctx, wire, chars)
		}
	}
}

// send sends at once, and gives up where nobody takes it.
func (r *relay) send(ctx context.Context, wire *serialio.Port, chars []byte) {
	attempt, end := context.WithTimeout(ctx, frame.Characters(int64(len(chars)))+tooLate)
	defer end()
	err := wire.Send(attempt, time.Time{}, relayLead, relayTail, chars)
	if errors.Is(err, context.DeadlineExceeded) {
		r.drop(wire)
	}
}

func (r *relay) waiting() (*serialio.Port, []byte) {
	r.mu.Lock()
	defer r.mu.Unlock()
	n := min(len(r.chars), mostAtOnce)
	chars := r.chars[:n]
	r.chars = r.chars[n:]
	return r.wire, chars
}
