package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"maps"
	"os/signal"
	"slices"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"looptone/cmd/looptone/view"
	"looptone/frame"
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

// A watching scans the same addresses again and again.
type watching struct {
	*scanning
	vigil  *vigil
	stderr io.Writer
	origin time.Time // line time 0 by the wall clock; zero on a simulated line

	first   bool // it is the first scan
	there   map[frame.Address]*present
	garbled map[uint8]*present // what cannot be read, by polling address
}

// present is what was there in the last scan.
type present struct {
	master.Found
	seen   bool // in this scan too
	missed int  // scans in which it answered by its unique address only
}

// watchOver scans until it is stopped, which is its normal end.
func (o *scanOptions) watchOver(ctx context.Context, h *host, stdout, stderr io.Writer) error {
	signal.Ignore(syscall.SIGPIPE)
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	out := newSpool(stdout, stop)
	w := newWatching(o, h, out, stderr)
	defer w.vigil.Close()
	return cmp.Or(w.vigil.run(ctx), unless(out.Close(), syscall.EPIPE))
}

func newWatching(o *scanOptions, h *host, out, stderr io.Writer) *watching {
	w := &watching{first: true, stderr: stderr, there: map[frame.Address]*present{}, garbled: map[uint8]*present{}}
	w.scanning = &scanning{scanOptions: o, line: h.name, stdout: out, assembly: h.assembly}
	if h.wire != nil {
		w.origin = time.Now()
	}
	w.vigil = newVigil(h, w.script)
	w.vigil.say = func(format string, args ...any) { fmt.Fprintf(stderr, format+"\n", args...) }
	w.vigil.open = func(ctx context.Context) (*serialio.Port, error) { return o.wireFlags.open(ctx, io.Discard) }
	return w
}

// script scans once a period, or at once where that is over.
func (w *watching) script(yield func(*master.Transaction) bool) {
	for due := sim.Tick(0); ; {
		if !w.scan(due, yield) {
			return
		}
		if w.first {
			w.endFirst()
		}
		if period := sim.Ticks(w.watch.span); period > 0 {
			due = (max(w.vigil.line.Now(), due)/period + 1) * period
		}
	}
}

// scan scans once, and looks again for those who are missing.
func (w *watching) scan(due sim.Tick, say func(*master.Transaction) bool) (more bool) {
	for _, p := range w.all() {
		p.seen = false
	}
	more = true
	scan := master.Scan{From: uint8(w.from), To: uint8(w.to), Retries: w.retries, Found: w.found}
	scan.Run(func(t *master.Transaction) bool {
		t.Earliest, due = due, 0
		more = say(t)
		return more
	})
	return more && w.searchMissing(say)
}

// all are those who were there, in the order of their polling addresses.
func (w *watching) all() []*present {
	return slices.SortedFunc(func(yield func(*present) bool) {
		for p := range maps.Values(w.there) {
			if !yield(p) {
				return
			}
		}
		for p := range maps.Values(w.garbled) {
			if !yield(p) {
				return
			}
		}
	}, func(a, b *present) int {
		return cmp.Or(cmp.Compare(a.Polling, b.Polling), cmp.Compare(a.Unique.String(), b.Unique.String()))
	})
}

// found is told of what is at a polling address.
func (w *watching) found(f master.Found) {
	if w.first {
		w.tell(f)
	}
	if f.Unreadable {
		if before := w.garbled[f.Polling]; before != nil {
			before.seen = true
			return
		}
		w.garbled[f.Polling] = &present{Found: f, seen: true}
		w.report("came", &f, nil)
		return
	}
	before := w.there[f.Unique]
	w.there[f.Unique] = &present{Found: f, seen: true}
	if before == nil {
		w.report("came", &f, nil)
		return
	}
	now := &w.there[f.Unique].Found
	if keepTags(now, &before.Found); !view.SameDevice(now, &before.Found) {
		w.report("changed", now, &before.Found)
	}
}

// keepTags takes over the tags that a device did not tell this time.
func keepTags(now, before *master.Found) {
	now.Tag = cmp.Or(now.Tag, before.Tag)
	now.LongTag = cmp.Or(now.LongTag, before.LongTag)
}

// searchMissing asks those who did not answer by their unique addresses, as often as
// others are asked again: one reply may be lost, and an address may have changed
// behind the scan. At an address that cannot be read, all may be there still.
func (w *watching) searchMissing(say func(*master.Transaction) bool) (more bool) {
	for _, p := range w.all() {
		switch {
		case p.seen:
			p.missed = 0
			continue
		case p.Unreadable:
			delete(w.garbled, p.Polling)
			w.report("went", &p.Found, nil)
			continue
		case w.garbled[p.Polling] != nil && w.garbled[p.Polling].seen:
			continue
		}
		find := master.Find{Address: p.Unique, Retries: w.retries}
		if !find.Run(say) {
			return false
		}
		if p.missed++; find.Device == nil || p.missed > 1 {
			delete(w.there, p.Unique)
			w.report("went", &p.Found, nil)
		}
	}
	return true
}

// report tells what has changed since the first scan.
func (w *watching) report(event string, f, was *master.Found) {
	if w.first {
		return
	}
	now := w.vigil.line.Now().Duration()
	s := view.Sighting{Event: event, Found: f, Was: was,
		When: exchange.Span{Known: true, Begin: now, Start: now, End: now, Origin: w.origin}}
	if w.json {
		w.stdout.Write(append(s.Append(nil, w.line), '\n'))
		return
	}
	fmt.Fprintf(w.stdout, "%s  %s%s\n", momentText(&s.When), s.String(), w.sharers(f))
}

// endFirst says what was found at first.
func (w *watching) endFirst() {
	w.first = false
	w.end(w.stderr, "watching them from now on") // which nobody is there for is no end
}

// momentText is when something was: by the wall clock, if that is known.
func momentText(s *exchange.Span) string {
	if at, clocked := s.Clock(); clocked {
		return at.Format("15:04:05.000")
	}
	return fmt.Sprintf("%9.3f s", s.Start.Seconds())
}
