package main

import (
	"bufio"
	"cmp"
	"context"
	"fmt"
	"io"
	"time"

	"looptone/cmd/looptone/view"
	"looptone/frame/exchange"
	"looptone/sim"
	"looptone/sim/linefile"
)

// stride is how much line time passes before it is looked whether anybody still
// wants to know.
const stride = sim.Tick(60 * sim.Second)

// A flusher keeps what is written to it back, until it is enough or flushed.
type flusher interface {
	io.Writer
	Flush() error
}

// runFast runs the line in line time, and tells what was counted: on stdout, or
// on stderr where stdout is for JSON.
func (s *simulation) runFast(ctx context.Context, stdout io.Writer) (err error) {
	if s.wav.file != "" {
		if s.wave, err = s.newWave(); err != nil {
			return err
		}
		defer func() { err = cmp.Or(err, s.wave.out.close(s.stderr)) }()
	}
	out := bufio.NewWriter(stdout)
	s.out, s.aside = out, s.stderr
	s.assembly.Report, s.assembly.News = s.report, s.reportLoop
	var logged flusher = out
	if s.file != nil {
		file := newBackground(s.file)
		defer func() { err = cmp.Or(err, file.Close(), s.file.Close()) }()
		logged = file
	}
	w := &witness{counts: &exchange.Statistics{}}
	if s.json {
		w.out = out
	}
	log := s.watch(w, logged)
	began := time.Now()
	if err := runTo(ctx, s.assembly, s.wave, sim.Ticks(s.fast.span), out, logged); err != nil {
		return err
	}
	log.end(s.assembly.Line.Now())
	took := time.Since(began)
	said := s.out
	if s.objects() {
		said = s.stderr
	}
	io.WriteString(said, counted(w.counts))
	s.showPolls(said)
	if err := s.showFindings(); err != nil {
		return err
	}
	fmt.Fprintf(s.stderr, "%v of line time took %.3f s, %.0f times as fast as real time\n",
		s.fast.span, took.Seconds(), s.fast.span.Seconds()/took.Seconds())
	return out.Flush()
}

// showPolls tells what the simulated masters have counted: with --json as objects.
func (s *simulation) showPolls(said io.Writer) {
	now := s.assembly.Line.Now()
	for _, h := range s.assembly.Masters {
		p := view.Polled{Master: "secondary", Took: now.Duration(), Now: now, Tallies: h.Poll.Tallies()}
		if h.Master.Primary {
			p.Master = "primary"
		}
		if s.json {
			s.out.Write(p.AppendJSON(nil))
		} else {
			io.WriteString(said, "\n"+p.String())
		}
	}
}

// counted is what was counted on a line, if anybody has talked on it.
func counted(c *exchange.Statistics) string {
	if c.Characters == 0 {
		return "nobody talked on the line: with --fast it cannot be reached\n"
	}
	return view.Summary(c)
}

// runTo runs a line and the processes of its devices up to the moment end, and renders
// it unless w is nil, until ctx ends or something of outs cannot be written.
func runTo(ctx context.Context, a *linefile.Assembly, w *lineWave, end sim.Tick, outs ...flusher) error {
	for a.Line.Now() < end {
		to := min(a.Line.Now()+stride, end)
		if w == nil {
			a.Line.Run(to)
		} else if err := w.run(to); err != nil {
			return err
		}
		for _, d := range a.Devices {
			d.Transmitter().To(a.Line.Now())
		}
		if ctx.Err() != nil {
			return errInterrupted
		}
		for _, out := range outs {
			if err := out.Flush(); err != nil {
				return err
			}
		}
	}
	return nil
}
