package main

import (
	"bufio"
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

// runFast runs the line in line time, and tells what was counted: on stdout, or
// on stderr where stdout is for JSON.
func (o *simOptions) runFast(ctx context.Context, a *linefile.Assembly, stdout, stderr io.Writer) error {
	out := bufio.NewWriter(stdout)
	w := &witness{json: o.json, counts: &exchange.Statistics{}}
	if o.json {
		w.out = out
	}
	a.Line.Join(w)
	o.monitor(a, out)
	began := time.Now()
	if err := runTo(ctx, a, sim.Ticks(o.fast.span), out); err != nil {
		return err
	}
	took := time.Since(began)
	if o.json || o.values.span > 0 {
		io.WriteString(stderr, counted(w.counts))
	} else {
		io.WriteString(out, counted(w.counts))
	}
	fmt.Fprintf(stderr, "%v of line time took %.3f s, %.0f times as fast as real time\n",
		o.fast.span, took.Seconds(), o.fast.span.Seconds()/took.Seconds())
	return out.Flush()
}

// counted is what was counted on a line, if anybody has talked on it.
func counted(c *exchange.Statistics) string {
	if c.Characters == 0 {
		return "nobody talked on the line: with --fast it cannot be reached\n"
	}
	return view.Summary(c)
}

// runTo runs a line and the processes of its devices up to the moment end, unless
// ctx ends or out cannot be written.
func runTo(ctx context.Context, a *linefile.Assembly, end sim.Tick, out *bufio.Writer) error {
	for a.Line.Now() < end {
		a.Line.Run(min(a.Line.Now()+stride, end))
		for _, d := range a.Devices {
			d.Transmitter().To(a.Line.Now())
		}
		if ctx.Err() != nil {
			return errInterrupted
		}
		if err := out.Flush(); err != nil {
			return err
		}
	}
	return nil
}
