package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"looptone/sim"
	"looptone/sim/fault"
	"looptone/sim/linefile"
	"looptone/sim/live"
)

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
	wave        *lineWave  // nil: the line is not rendered

	runner *live.Runner  // in real time
	shown  *show         // to browsers; nil: nothing is
	struck []fault.Fault // from the beginning, by --fault
	out    io.Writer     // where results go; like aside it does not block a line in real time
	aside  io.Writer     // where goes on stderr what the line says while it runs
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
		s.wave.carrier(talker, b)
		s.shown.carrier(talker, b)
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
	stays := s.reached() || s.control != "" || s.page.at != ""
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
	log := s.watch(s.listener(), logged)
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

// listener is the witness who says what is said, if that is wanted.
func (s *simulation) listener() *witness {
	w := &witness{}
	if s.json || !s.objects() {
		w.out = s.out
	}
	return w
}

func (s *simulation) runLine(ctx context.Context, name string) error {
	end, err := s.openPage(ctx, name)
	if err != nil {
		return err
	}
	defer end()
	s.begin()
	defer func() { s.shown.end() }()
	w := ways{wireFlags: &s.wireFlags, pty: s.pty, listen: s.listen, runner: s.runner, stderr: s.stderr}
	defer w.Close()
	if err := w.open(ctx); err != nil {
		s.giveUp()
		return err
	}
	fmt.Fprintf(s.stderr, "%s: %s\n", name, deviceCount(s.assembly))
	if s.control != "" {
		go s.takeActions(ctx, s.stdin) // a read that blocks cannot be called back
	}
	s.runner.Run(ctx, func() bool { return w.lost != nil || s.shown.over() })
	for s.shown.over() && ctx.Err() == nil {
		if err := s.again(); err != nil {
			return err
		}
		s.runner.Run(ctx, s.shown.over)
	}
	return w.lost
}

// giveUp ends a line that has not run, so that no browser waits for it.
func (s *simulation) giveUp() {
	ended, end := context.WithCancel(context.Background())
	end()
	s.runner.Run(ended, nil)
}

// begin makes the line ready to run in real time.
func (s *simulation) begin() {
	s.runner = live.NewRunner(s.assembly.Line)
	s.assembly.Clock, s.assembly.Report, s.assembly.News = s.runner, s.report, s.reportLoop
	s.shown.begin(s, s.runner)
}

// again puts the line back to its start.
func (s *simulation) again() error {
	s.shown.end()
	s.assembly.Close()
	a, err := s.description.Assemble(&s.seed, nil)
	if err != nil {
		return err
	}
	if err := addFaults(a, s.struck); err != nil {
		return err
	}
	s.assembly = a
	s.watch(s.listener(), s.out)
	s.begin()
	return nil
}
