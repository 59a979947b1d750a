package serialio

import (
	"io"
	"sync"
	"sync/atomic"
	"time"

	"looptone/frame"
)

// A Port is a two-way line of characters to somewhere outside. Its methods may
// be called from any goroutine.
type Port struct {
	name     string
	line     line
	modem    modemLines // nil where there are none
	settings Settings
	arrivals chan frame.Arrival
	sending  chan struct{} // holds a token while a message leaves
	closed   chan struct{} // by Close
	ended    chan struct{} // by the reader, when it has set end
	end      error
	escapes  *unescaper   // nil where errors of characters are not seen
	echo     *echo        // nil where nothing that is sent comes back
	dropped  atomic.Int64 // characters that came without a carrier

	keyedUntil time.Time // by when RTS goes off again; zero while it is off; for who has the token of sending

	once     sync.Once
	shut     sync.Once // of the line, once closing it has begun
	closeErr error
}

// line is the operating system's end of a port.
type line interface {
	// Close releases Read and Write.
	io.ReadWriteCloser
	// SetWriteDeadline releases a Write as that of [net.Conn] does.
	SetWriteDeadline(time.Time) error
}

// marking is a line whose characters can carry marks of their errors, escaped as an
// [unescaper] takes them.
type marking interface{ marksErrors() bool }

// backlog is how many arrivals wait for a consumer that is busy: at 1200 bit/s
// at least nine seconds. Behind it the operating system's buffer fills, which
// loses nothing yet but makes times late.
const backlog = 1024

func newPort(name string, l line, s Settings) *Port {
	p := &Port{
		name: name, line: l, modem: modemOf(l, s.Modem), settings: s, echo: newEcho(s),
		arrivals: make(chan frame.Arrival, backlog),
		sending:  make(chan struct{}, 1),
		closed:   make(chan struct{}),
		ended:    make(chan struct{}),
	}
	if m, ok := l.(marking); ok && m.marksErrors() {
		p.escapes = new(unescaper)
	}
	go p.listen()
	return p
}

// Name is what the port was opened by, or the address of the other end.
func (p *Port) Name() string { return p.name }

// SeesParity reports whether wrong parity bits of single characters are seen, and stand
// in the arrivals as marks: on a UART of Linux with parity, unless a USB adapter keeps
// them to itself. Elsewhere such a character comes without a mark, and its value may be
// another one.
func (p *Port) SeesParity() bool { return p.escapes != nil && p.settings.Parity != NoParity }

// Dropped is how many characters came in so far while there was no carrier.
func (p *Port) Dropped() int64 { return p.dropped.Load() }

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
		p.awaitSender()
		p.closeLine()
		<-p.ended
	})
	return p.closeErr
}

// awaitSender lets a sender drop what has not left yet and take RTS away, which
// it does at once, and lets RTS stay on behind a message for as long as it should.
// A sender that the operating system holds up is not waited for.
func (p *Port) awaitSender() {
	l, ok := p.line.(clocked)
	if !ok && !p.keys() {
		return
	}
	select {
	case p.sending <- struct{}{}: // and nobody sends from now on
		p.awaitKey()
	case <-time.After(500 * time.Millisecond):
		if ok {
			l.Discard() // or closing would wait for it
		}
	}
}

// awaitKey ends what a message has left of RTS.
func (p *Port) awaitKey() {
	if p.isKeyed() {
		select {
		case <-time.After(time.Until(p.keyedUntil)):
		case <-p.ended:
		}
		p.keyOff() // so does closing, if this fails
	}
}

func (p *Port) closeLine() {
	p.shut.Do(func() {
		if err := p.line.Close(); err != nil {
			p.closeErr = &OpError{"close", p.name, cause(err)}
		}
	})
}

// listen is the reader, one a port.
func (p *Port) listen() {
	defer close(p.arrivals)
	defer close(p.ended)
	hear := p.hear
	if p.modem != nil && p.settings.Modem.Carrier != 0 {
		hear = p.hearCarrier
	}
	if err := hear(p.deliver); err != nil && !p.isClosed() {
		p.end = &OpError{"read", p.name, cause(err)}
	}
}

// hear reads until the line ends, or until take is false.
func (p *Port) hear(take func(frame.Arrival) bool) error {
	buf := make([]byte, 4096)
	for {
		n, err := p.read(buf)
		for _, a := range p.echo.divide(p.arrival(time.Now(), buf[:n])) {
			if len(a.Chars) > 0 && !take(a) {
				return nil
			}
		}
		if err != nil {
			return err
		}
	}
}

// arrival is what was read, without the escapes of its marks.
func (p *Port) arrival(at time.Time, chars []byte) frame.Arrival {
	if p.escapes == nil {
		return frame.Arrival{At: at, Chars: append([]byte(nil), chars...)}
	}
	chars, marks := p.escapes.take(chars)
	return frame.Arrival{At: at, Chars: chars, Marks: marks}
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
func (p *Port) deliver(a frame.Arrival) bool {
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
