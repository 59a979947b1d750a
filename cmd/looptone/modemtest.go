package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"

	"looptone/serialio"
	"looptone/serialio/modemcheck"
	"looptone/sim/linefile"
	"looptone/sim/live"
)

// A modemTest is a test that takes place.
type modemTest struct {
	*checkModemOptions
	number    uint64        // the seed
	character time.Duration // on the ports
	plan      []modemcheck.Message
	line      *linefile.Assembly // that answers; nil for none
	near, far *serialio.Port     // far nil: looped back
}

// prepare makes the plan, and the line that answers, and says how long it takes.
func (t *modemTest) prepare(stderr io.Writer) error {
	if !t.onLine() {
		ends := 2
		if t.loopback {
			ends = 1
		}
		t.plan = modemcheck.Plan(t.number, t.messages, ends)
		took := modemcheck.Duration(t.plan, t.character)
		fmt.Fprintf(stderr, "%d messages, which take about %.0f s\n", len(t.plan), took.Seconds())
		return nil
	}
	a, name, err := assemble(t.answering, t.seed.value)
	if err != nil {
		return err
	}
	if len(a.Masters) > 0 {
		a.Close()
		return errors.New("the line has a master of its own, which would talk at the same time: want a line without")
	}
	var polling []uint8
	for _, d := range a.Devices {
		polling = append(polling, d.Polling())
	}
	t.line = a
	t.plan = modemcheck.Requests(t.number, t.messages, polling)
	took := modemcheck.Duration(t.plan, t.character) + time.Duration(len(t.plan))*usualAnswer
	fmt.Fprintf(stderr, "%s\n%d requests, which take about %.0f s with their replies\n", name, len(t.plan), took.Seconds())
	return nil
}

// usualAnswer is about how long a device takes until it has said who it is.
const usualAnswer = 400 * time.Millisecond

func (t *modemTest) open(ctx context.Context, s serialio.Settings) (err error) {
	if t.near, err = openEnd(ctx, t.port, t.tcp, t.rfc2217, s); err != nil || t.loopback {
		return err
	}
	if t.far, err = openEnd(ctx, t.second, t.secondTCP, "", s); err != nil {
		t.near.Close()
	}
	return err
}

// openEnd opens the port that is named.
func openEnd(ctx context.Context, port, tcp, rfc2217 string, s serialio.Settings) (*serialio.Port, error) {
	switch {
	case tcp != "":
		return serialio.Dial(ctx, tcp, serialio.Settings{Baud: s.Baud, Parity: s.Parity, Modem: serialio.Modem{Echo: s.Modem.Echo}})
	case rfc2217 != "":
		return serialio.DialRFC2217(ctx, rfc2217, s)
	}
	return serialio.Open(port, s)
}

// Close closes what was opened.
func (t *modemTest) Close() {
	t.near.Close()
	if t.far != nil {
		t.far.Close()
	}
	if t.line != nil {
		t.line.Close()
	}
}

func (t *modemTest) run(ctx context.Context) (r *modemcheck.Report, err error) {
	bench := modemcheck.Bench{Timing: t.timing()}
	switch {
	case t.line != nil:
		r, err = t.ask(ctx, &bench)
	case t.far != nil:
		r, err = bench.Pair(ctx, t.near, t.far, t.plan)
	default:
		r, err = bench.Loopback(ctx, t.near, t.plan)
	}
	if err != nil {
		return nil, err
	}
	r.Seed = t.number
	return r, nil
}

// ask has the line run behind the second port while the first one asks.
func (t *modemTest) ask(ctx context.Context, bench *modemcheck.Bench) (*modemcheck.Report, error) {
	tap := modemcheck.NewTap(t.far)
	defer tap.Close()
	runner := live.NewRunner(t.line.Line)
	runner.Attach(t.far.Name(), tap, nil)
	running, stop := context.WithCancel(ctx)
	var line sync.WaitGroup
	line.Go(func() { runner.Run(running, nil) })
	defer line.Wait()
	defer stop()
	return bench.Line(ctx, t.near, tap, t.plan)
}
