package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"os/signal"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"looptone/cmd/looptone/view"
	"looptone/frame/exchange"
	"looptone/serialio"
	"looptone/sim"
	"looptone/sim/master"
)

// watchFlag is --watch[=PERIOD]: scan again and again, as fast as that goes or once
// a period.
type watchFlag struct {
	spanFlag
	on bool
}

const withoutPeriod = "on"

func (w *watchFlag) add(cmd *cobra.Command) {
	w.least, w.most = shortestPeriod, longestPeriod
	cmd.Flags().Var(w, "watch", "scan again and again, at once or each `PERIOD`, and tell what comes, goes and changes")
	cmd.Flags().Lookup("watch").NoOptDefVal = withoutPeriod
}

func (w *watchFlag) Set(text string) error {
	w.on = true
	if text == withoutPeriod {
		return nil
	}
	return w.spanFlag.Set(text)
}

// scanArgs refuses arguments, and a period that stands apart from --watch.
func scanArgs(cmd *cobra.Command, args []string) error {
	if len(args) == 1 && cmd.Flags().Changed("watch") {
		if _, err := time.ParseDuration(args[0]); err == nil {
			return usagef("--watch takes its period behind an equals sign: --watch=%s", args[0])
		}
	}
	return noArgs(cmd, args)
}

// A watching tells what a watch over the line sees.
type watching struct {
	*scanning
	vigil  *vigil
	stderr io.Writer
	origin time.Time // line time 0 by the wall clock; zero on a simulated line
}

// watchOver scans until it is stopped, which is its normal end.
func (o *scanOptions) watchOver(ctx context.Context, h *host, stdout, stderr io.Writer) error {
	signal.Ignore(syscall.SIGPIPE)
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	out, aside := newSpool(stdout, stop), newSpool(stderr, func() {})
	w := newWatching(o, h, out, aside)
	defer w.vigil.Close()
	err := w.vigil.run(ctx)
	aside.Close()
	return cmp.Or(err, unless(out.Close(), syscall.EPIPE))
}

func newWatching(o *scanOptions, h *host, out, stderr io.Writer) *watching {
	w := &watching{stderr: stderr, scanning: &scanning{scanOptions: o, line: h.name, stdout: out, assembly: h.assembly}}
	if h.wire != nil {
		w.origin = time.Now()
	}
	watch := master.Watch{From: uint8(o.from), To: uint8(o.to), Retries: o.retries, Every: sim.Ticks(o.watch.span),
		Found: w.tell, Complete: w.endFirst, Changed: w.tellChange}
	w.vigil = newVigil(h, watch.Run)
	w.vigil.say = func(format string, args ...any) { fmt.Fprintf(stderr, format+"\n", args...) }
	w.vigil.open = func(ctx context.Context) (*serialio.Port, error) { return o.wireFlags.open(ctx, io.Discard) }
	return w
}

// tellChange tells what has changed since the first scan.
func (w *watching) tellChange(s master.Sighting) {
	at := s.At.Duration()
	when := exchange.Span{Known: true, Begin: at, Start: at, End: at, Origin: w.origin}
	if w.json {
		w.stdout.Write(append(view.AppendSighting(nil, w.line, &s, &when), '\n'))
		return
	}
	fmt.Fprintf(w.stdout, "%s  %s%s\n", momentText(&when), view.SightingSentence(&s), w.sharers(s.Found))
}

// endFirst says what the first scan has found.
func (w *watching) endFirst() {
	w.end(w.stderr, "watching them from now on") // which nobody is there for is no end
}

// momentText is when something was: by the wall clock, if that is known.
func momentText(s *exchange.Span) string {
	if at, clocked := s.Clock(); clocked {
		return at.Format("15:04:05.000")
	}
	return fmt.Sprintf("%9.3f s", s.Start.Seconds())
}
