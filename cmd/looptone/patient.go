package main

import (
	"context"
	"io"
	"time"
)

// A patient reader reads from somewhere that may have nothing for a long time: a
// pipe, a terminal. It ends with its context, and before it waits longer, what
// was found so far is shown.
type patient struct {
	ctx   context.Context
	r     io.Reader
	idle  func()
	reads chan read
	buf   []byte
	going bool // a read is on its way
}

type read struct {
	n   int
	err error
}

// shortWait is how long a reader waits before it calls idle.
const shortWait = 50 * time.Millisecond

func newPatient(ctx context.Context, r io.Reader, idle func()) *patient {
	return &patient{ctx: ctx, r: r, idle: idle, reads: make(chan read, 1), buf: make([]byte, 64<<10)}
}

// Read hands on what a read in the background brings. That one may outlive the
// context: a blocked read of a terminal cannot be called back.
func (p *patient) Read(b []byte) (int, error) {
	if !p.going {
		p.going = true
		into := p.buf[:min(len(b), len(p.buf))]
		go func() {
			n, err := p.r.Read(into)
			p.reads <- read{n, err}
		}()
	}
	wait := time.NewTimer(shortWait)
	defer wait.Stop()
	for {
		select {
		case r := <-p.reads:
			p.going = false
			return copy(b, p.buf[:r.n]), r.err
		case <-wait.C:
			p.idle()
		case <-p.ctx.Done():
			return 0, errInterrupted
		}
	}
}
