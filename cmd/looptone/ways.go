package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"

	"looptone/serialio"
	"looptone/sim/live"
)

// portSeat begins the name of the seat of a serial port.
const portSeat = "port "

// ways lead from outside to a line in real time: a pty that is made, a port, a TCP
// server to connect to, and TCP clients that are waited for.
type ways struct {
	*wireFlags
	pty, listen string
	runner      *live.Runner
	stderr      io.Writer // is told where they are

	wire      *serialio.Port // the port or the TCP server; changes while reopening only
	aside     *spool         // to stderr: who does not read it must not stop the line
	reopening sync.WaitGroup
	spoilt    spoilt

	lost error // why a pty or port ended; set on the line's goroutine
	ends []func()
}

// open opens them all. Whether it can or not, Close closes those that are open.
func (w *ways) open(ctx context.Context) error {
	if w.pty != "" {
		if err := w.attach("pty")(serialio.NewPTY(w.pty)); err != nil {
			return err
		}
		fmt.Fprintf(w.stderr, "pty at %s\n", w.pty)
	}
	if name, ok := w.real(); ok {
		if err := w.openWire(ctx, portSeat+name); err != nil {
			return err
		}
	}
	return w.wait(ctx)
}

// openWire opens the port, or connects to the TCP server.
func (w *ways) openWire(ctx context.Context, name string) (err error) {
	if w.wire, err = w.wireFlags.open(ctx, w.stderr); err != nil {
		return err
	}
	w.aside = newSpool(w.stderr, func() {})
	ctx, cancel := context.WithCancel(ctx)
	w.ends = append(w.ends, func() {
		cancel()
		w.reopening.Wait()
		w.wire.Close()
		w.aside.Close()
	})
	w.runner.OnSpoilt(func() { w.spoilt.tell(time.Now(), w.say) })
	w.attachWire(ctx, name, w.wire)
	return nil
}

// attachWire connects the line with a wire. When that goes, it is opened again as soon
// as it is there.
func (w *ways) attachWire(ctx context.Context, name string, wire *serialio.Port) {
	w.runner.Attach(name, wire, func() {
		wire.Close()
		w.say(waitingFor(wire))
		w.reopening.Go(func() {
			again := reopen(ctx, func(ctx context.Context) (*serialio.Port, error) { return w.wireFlags.open(ctx, io.Discard) }, w.say)
			if again != nil {
				w.wire = again
				w.runner.Do(func() { w.attachWire(ctx, name, again) })
			}
		})
	})
}

func (w *ways) say(text string) { fmt.Fprintln(w.aside, text) }

func (w *ways) Close() {
	for _, end := range w.ends {
		end()
	}
}

func (w *ways) attach(name string) func(*serialio.Port, error) error {
	return func(p *serialio.Port, err error) error {
		if err != nil {
			return err
		}
		w.ends = append(w.ends, func() { p.Close() })
		w.runner.Attach(name, p, func() { w.lost = ended(p) })
		return nil
	}
}

// wait waits for TCP clients until Close.
func (w *ways) wait(ctx context.Context) error {
	if w.listen == "" {
		return nil
	}
	l, err := serialio.Listen(w.listen)
	if err != nil {
		return err
	}
	fmt.Fprintf(w.stderr, "listening on %s\n", l.Addr())
	ctx, cancel := context.WithCancel(ctx)
	var work sync.WaitGroup
	work.Go(func() { w.accept(ctx, l) })
	w.ends = append(w.ends, func() {
		cancel()
		l.Close()
		work.Wait()
	})
	return nil
}

// retryAccept is how long to wait when a client cannot be taken, for instance
// because too many files are open.
const retryAccept = time.Second

// accept gives every client a seat on the line until it, or ctx, ends.
func (w *ways) accept(ctx context.Context, l *serialio.Listener) {
	said, clients := "", 0
	for {
		client, err := l.Accept()
		switch {
		case errors.Is(err, serialio.ErrClosed):
			return
		case err == nil:
			stop := context.AfterFunc(ctx, func() { client.Close() })
			clients++
			w.runner.Attach(fmt.Sprintf("client %d", clients), client, func() { stop(); client.Close() })
			continue
		case err.Error() != said:
			said = err.Error()
			fmt.Fprintf(w.stderr, "%v; trying again\n", err)
		}
		select {
		case <-time.After(retryAccept):
		case <-ctx.Done():
			return
		}
	}
}
