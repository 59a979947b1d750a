package serialio

import (
	"io"
	"sync"
	"time"

	"looptone/frame"
)

// A Port is a two-way line of characters to somewhere outside. Its methods may
// be called from any goroutine.
type Port struct {
	name     string
	line     line
	settings Settings
	arrivals chan frame.Arrival
	sending  chan struct{} // holds a token while a message leaves
	closed   chan struct{} // by Close
	ended    chan struct{} // by the reader, when it has set end
	end      error

	once     sync.Once
	closeErr error
}

// line is the operating system's end of a port.
type line interface {
	// Close releases Read and Write.
	io.ReadWriteCloser
	// SetWriteDeadline releases a Write as that of [net.Conn] does.
	SetWriteDeadline(time.Time) error
}

// backlog is how many arrivals wait for a consumer that is busy: at 1200 bit/s
// at least nine seconds. Behind it the operating system's buffer fills, which
// loses nothing yet but makes times late.
const backlog = 1024

func newPort(name string, l line, s Settings) *Port {
	p := &Port{
		name: name, line: l, settings: s,
		arrivals: make(chan frame.Arrival, backlog),
		sending:  make(chan struct{}, 1),
		closed:   make(chan struct{}),
		ended:    make(chan struct{}),
	}
	go p.listen()
	return p
}

// Name is what the port was opened by, or the address of the other end.
func (p *Port) Name() string { return p.name }

// Arrivals hands on what comes in, each with the time when its read returned.
// The channel is closed when the port ends; Err then tells why.
func (p *Port) Arrivals() <-chan frame.Arrival { return p.arrivals }

// Err is why the port ended: nil while it has not and behind Close, otherwise
// an [*OpError]; it wraps [ErrGone] when the other end closed or was unplugged.
func (p *Port) Err() error {
	select {
	case <-p.ended:
		return p.end
	default:
		return nil
	}
}

// Close ends the port, whatever its consumer and its sender are doing: Send
// returns with [ErrClosed], Arrivals is closed behind what had come in.
func (p *Port) Close() error {
	p.once.Do(func() {
		close(p.closed)
		if err := p.line.Close(); err != nil {
			p.closeErr = &OpError{"close", p.name, cause(err)}
		}
		<-p.ended
	})
	return p.closeErr
}

// listen is the reader, one a port.
func (p *Port) listen() {
	defer close(p.arrivals)
	defer close(p.ended)
	buf := make([]byte, 4096)
	for {
		n, err := p.read(buf)
		at := time.Now()
		if n > 0 && !p.deliver(at, buf[:n]) {
			return
		}
		if err != nil {
			if !p.isClosed() {
				p.end = &OpError{"read", p.name, cause(err)}
			}
			return
		}
	}
}

// read never returns (0, nil), as libraries can on silence.
func (p *Port) read(buf []byte) (n int, err error) {
	for range 100 {
		if n, err = p.line.Read(buf); n > 0 || err != nil {
			return n, err
		}
	}
	return 0, io.ErrNoProgress
}

// deliver waits for room in the backlog; false when the port was closed first.
func (p *Port) deliver(at time.Time, chars []byte) bool {
	a := frame.Arrival{At: at, Chars: append([]byte(nil), chars...)}
	select {
	case p.arrivals <- a:
		return true
	case <-p.closed:
		return false
	}
}

func (p *Port) isClosed() bool {
	select {
	case <-p.closed:
		return true
	default:
		return false
	}
}
