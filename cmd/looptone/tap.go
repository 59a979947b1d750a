package main

import (
	"context"
	"io"
	"net"
	"os"
	"time"

	"looptone/frame"
	"looptone/serialio"
	"looptone/serialio/capture"
)

// A listener is told what is heard on ports. It must not hold up who tells it.
type listener interface {
	Heard(stream uint8, a *frame.Arrival)
	Gone(stream uint8, at time.Time, why string)
	Resumed(stream uint8, at time.Time)
}

// listeners are told one behind the other.
type listeners []listener

func (l listeners) Heard(stream uint8, a *frame.Arrival) {
	for _, to := range l {
		to.Heard(stream, a)
	}
}

func (l listeners) Gone(stream uint8, at time.Time, why string) {
	for _, to := range l {
		to.Gone(stream, at, why)
	}
}

func (l listeners) Resumed(stream uint8, at time.Time) {
	for _, to := range l {
		to.Resumed(stream, at)
	}
}

// A tap listens to a port. When that goes, it listens to the next one as soon as there
// is one.
type tap struct {
	stream uint8
	to     listener
	next   func(context.Context) *serialio.Port // the port that comes then; nil when ctx ends first
	say    func(string)
	guests bool // they come and go, and nothing is missed meanwhile

	onward  *relay // what passes on what is heard; nil for none
	inbound *relay // what sends to this port; nil for none
	dropped int64  // characters that came without a carrier
}

// run listens until ctx ends. A wire of nil is one that is still to come.
func (t *tap) run(ctx context.Context, wire *serialio.Port) {
	for gone := false; ; gone = true {
		if wire == nil {
			if wire = t.next(ctx); wire == nil {
				return
			}
			if gone && !t.guests {
				t.to.Resumed(t.stream, time.Now())
			}
		}
		t.listen(ctx, wire)
		if ctx.Err() != nil {
			return
		}
		if why := ended(wire); t.guests {
			t.say(why.Error())
		} else {
			t.say(waitingFor(wire))
			t.to.Gone(t.stream, time.Now(), why.Error())
		}
		wire = nil
	}
}

// listen hands on what a wire hears until it or ctx ends.
func (t *tap) listen(ctx context.Context, wire *serialio.Port) {
	defer context.AfterFunc(ctx, func() { wire.Close() })()
	defer wire.Close()
	if t.inbound != nil {
		t.inbound.connect(wire)
		defer t.inbound.connect(nil)
	}
	for a := range wire.Arrivals() {
		t.hear(&a)
	}
	t.dropped += wire.Dropped()
}

// hear hands on what has come in, but for what was sent here and has come back.
func (t *tap) hear(a *frame.Arrival) {
	if a.Echo == frame.EchoWhole {
		return
	}
	t.to.Heard(t.stream, a)
	if t.onward != nil && a.Echo == frame.NoEcho {
		t.onward.pass(a.Chars)
	}
}

// again opens a wire again when it is there.
func again(open func(context.Context, io.Writer) (*serialio.Port, error), say func(string)) func(context.Context) *serialio.Port {
	return func(ctx context.Context) *serialio.Port {
		return reopen(ctx, func(ctx context.Context) (*serialio.Port, error) { return open(ctx, io.Discard) }, say)
	}
}

// streamOf is what a record tells of what comes from a port: the time of its last
// character, later than the line by as much as is usual.
func (w *wireFlags) streamOf(name string, p *serialio.Port) capture.Stream {
	s := capture.Stream{Name: name, Times: capture.EndTimes, Late: portLateness, Parity: p.SeesParity()}
	if w.tcp != "" || w.port != "" && !serialio.MayKey(w.port) {
		s.Via = capture.Pipe
	}
	return s
}

// isAddress reports whether a name is that of a TCP port, and not of a file.
func isAddress(name string) bool {
	if _, err := os.Lstat(name); err == nil {
		return false
	}
	_, port, err := net.SplitHostPort(name)
	return err == nil && port != ""
}
