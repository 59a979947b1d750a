package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"sync"
	"syscall"
	"time"

	"looptone/serialio"
	"looptone/sim"
	"looptone/sim/linefile"
	"looptone/sim/live"
)

// portSeat begins the name of the seat of a serial port.
const portSeat = "port "

// A simulation is a line that runs, and the ways to it.
type simulation struct {
	*simOptions
	assembly    *linefile.Assembly
	description *linefile.Description
	seed        uint64
	file        *os.File // of the log; nil for none
	stdin       io.Reader
	stderr      io.Writer
	hosts       *hostJudge // nil: nobody is judged

	runner *live.Runner // in real time
	out    io.Writer    // where results go; like aside it does not block a line in real time
	aside  io.Writer    // where goes on stderr what the line says while it runs
	lost   error        // why a pty or port ended; set on the line's goroutine
}

func (s *simulation) run(ctx context.Context, name string, stdout io.Writer) error {
	if s.fast.span > 0 {
		fmt.Fprintf(s.stderr, "%s: %s\n", name, deviceCount(s.assembly))
		return cmp.Or(s.runFast(ctx, stdout), s.inOrder())
	}
	return cmp.Or(s.runLive(ctx, name, stdout), s.inOrder())
}

// watch puts on the line what tells of it: messages, values and the log.
func (s *simulation) watch(w *witness, logged io.Writer) (log *lineLog) {
	w.json, w.hosts = s.json, s.hosts
	if w.out != nil || w.counts != nil || w.hosts != nil {
		s.assembly.Line.Join(w)
	}
	s.monitor(s.assembly, s.out)
	log = s.newLog(logged)
	s.assembly.Line.Log(func(talker *sim.Seat, b *sim.Burst) {
		log.carrier(talker, b)
		s.hosts.carrier(talker, b)
	})
	return log
}

// runLive runs the line in real time until ctx ends. Whoever reads along may go: a
// line that can be reached stays; one that cannot has nobody left to run for, and
// that is its normal end, as an interrupt is.
func (s *simulation) runLive(ctx context.Context, name string, stdout io.Writer) error {
	signal.Ignore(syscall.SIGPIPE)
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	stays := s.reached() || s.control != ""
	failed := stop
	if stays {
		failed = func() {}
	}
	out, aside := newSpool(stdout, failed), newSpool(s.stderr, func() {})
	s.out, s.aside = out, aside
	logged := out
	if s.file != nil {
		logged = newSpool(s.file, failed)
	}
	w := &witness{}
	if s.json || !s.objects() {
		w.out = out
	}
	log := s.watch(w, logged)
	err := s.runLine(ctx, name)
	log.end(s.assembly.Line.Now())
	err = cmp.Or(err, s.showFindings())
	aside.Close()
	outErr := out.Close()
	if !stays && errors.Is(outErr, syscall.EPIPE) {
		outErr = nil
	}
	if s.file != nil {
		err = cmp.Or(err, logged.Close(), s.file.Close())
	}
	return cmp.Or(err, outErr)
}

func (s *simulation) runLine(ctx context.Context, name string) error {
	s.runner = live.NewRunner(s.assembly.Line)
	s.assembly.Clock, s.assembly.Report, s.assembly.News = s.runner, s.report, s.reportLoop
	ports, err := s.open(ctx)
	defer func() {
		for _, p := range ports {
			p.Close()
		}
	}()
	if err != nil {
		return err
	}
	clients, err := s.wait(ctx)
	if err != nil {
		return err
	}
	defer clients()
	fmt.Fprintf(s.stderr, "%s: %s\n", name, deviceCount(s.assembly))
	if s.control != "" {
		go s.takeActions(ctx, s.stdin) // a read that blocks cannot be called back
	}
	s.runner.Run(ctx, func() bool { return s.lost != nil })
	return s.lost
}

// open opens the pty and the port.
func (s *simulation) open(ctx context.Context) (ports []*serialio.Port, err error) {
	attach := func(name string) func(*serialio.Port, error) error {
		return func(p *serialio.Port, err error) error {
			if err != nil {
				return err
			}
			ports = append(ports, p)
			s.runner.Attach(name, p, func() { s.lost = ended(p) })
			return nil
		}
	}
	if s.pty != "" {
		if err := attach("pty")(serialio.NewPTY(s.pty)); err != nil {
			return ports, err
		}
		fmt.Fprintf(s.stderr, "pty at %s\n", s.pty)
	}
	if s.port != "" {
		if err := attach(portSeat + s.port)(s.wireFlags.open(ctx, s.stderr)); err != nil {
			return ports, err
		}
	}
	return ports, nil
}

// wait waits for TCP clients until the function that it returns is called.
func (s *simulation) wait(ctx context.Context) (stop func(), err error) {
	if s.listen == "" {
		return func() {}, nil
	}
	l, err := serialio.Listen(s.listen)
	if err != nil {
		return nil, err
	}
	fmt.Fprintf(s.stderr, "listening on %s\n", l.Addr())
	ctx, cancel := context.WithCancel(ctx)
	var work sync.WaitGroup
	work.Go(func() { s.accept(ctx, l) })
	return func() {
		cancel()
		l.Close()
		work.Wait()
	}, nil
}

// retryAccept is how long to wait when a client cannot be taken, for instance
// because too many files are open.
const retryAccept = time.Second

// accept gives every client a seat on the line until it, or ctx, ends.
func (s *simulation) accept(ctx context.Context, l *serialio.Listener) {
	said, clients := "", 0
	for {
		client, err := l.Accept()
		switch {
		case errors.Is(err, serialio.ErrClosed):
			return
		case err == nil:
			stop := context.AfterFunc(ctx, func() { client.Close() })
			clients++
			s.runner.Attach(fmt.Sprintf("client %d", clients), client, func() { stop(); client.Close() })
			continue
		case err.Error() != said:
			said = err.Error()
			fmt.Fprintf(s.stderr, "%v; trying again\n", err)
		}
		select {
		case <-time.After(retryAccept):
		case <-ctx.Done():
			return
		}
	}
}
