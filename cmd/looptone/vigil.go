package main

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"looptone/serialio"
	"looptone/sim"
	"looptone/sim/live"
	"looptone/sim/master"
)

// A vigil is a script that a master carries out until it is stopped, whatever
// becomes of the wire: when that ends it is opened again, and the script goes on
// where it was.
type vigil struct {
	host   *host
	script *master.Resumable
	open   func(context.Context) (*serialio.Port, error) // opens the wire again
	say    func(format string, args ...any)              // what a person should know meanwhile; called from several goroutines
	late   func(by time.Duration)                        // is told of each turn that was taken late

	line   *sim.Line
	runner *live.Runner
	seat   *sim.Seat
	master *master.Master // nil while the wire is away

	spoilt    spoilt
	reopening sync.WaitGroup
}

func (v *vigil) sayText(text string) { v.say("%s", text) }

// newVigil is a vigil at a host; its line is that of the host, or one with nothing
// on it but the wire.
func newVigil(h *host, script master.Script) *vigil {
	v := &vigil{host: h, script: master.Resume(script), line: sim.NewLine(0), late: func(time.Duration) {}}
	if h.assembly != nil {
		v.line = h.assembly.Line
	}
	return v
}

// tellActions has said what is done on a simulated line at its time, and what its
// electricity does.
func (v *vigil) tellActions() {
	if v.host.assembly == nil {
		return
	}
	v.host.assembly.Report = func(at sim.Tick, did string, err error) {
		if err != nil {
			did = err.Error()
		}
		v.say("at %.3f s: %s", at.Seconds(), did)
	}
	v.host.assembly.News = func(at sim.Tick, news string) { v.say("at %.3f s: %s", at.Seconds(), news) }
}

// Close ends the script.
func (v *vigil) Close() { v.script.Stop() }

// run works in real time until the script or ctx ends, which is no error.
func (v *vigil) run(ctx context.Context) error {
	ctx, stop := context.WithCancel(ctx)
	defer v.reopening.Wait()
	defer stop()
	v.runner = live.NewRunner(v.line)
	v.runner.OnLate(v.late)
	v.runner.OnSpoilt(func() { v.spoilt.tell(time.Now(), v.sayText) })
	v.tellActions()
	v.join()
	if v.host.wire != nil {
		v.attach(ctx)
	} else {
		v.host.assembly.Clock = v.runner
	}
	v.runner.Run(ctx, v.done)
	return v.leave()
}

// runFast works in line time, up to the moment end.
func (v *vigil) runFast(ctx context.Context, end sim.Tick) error {
	v.tellActions()
	v.join()
	for !v.done() && ctx.Err() == nil && v.line.Next() <= end {
		v.line.Run(v.line.Next())
	}
	if !v.done() && ctx.Err() == nil && end < sim.Never {
		v.line.Run(end)
	}
	return v.leave()
}

func (v *vigil) done() bool { return v.master != nil && v.master.Done() }

// join gives the line a master that goes on with the script. It listens first, as
// every master does that joins a line.
func (v *vigil) join() {
	v.master = master.New(v.host.config, v.script.Run)
	v.seat = v.line.Join(v.master)
	v.seat.Name = "secondary master"
	if v.host.config.Primary {
		v.seat.Name = "primary master"
	}
}

// leave takes the master off the line, and tells what it could not do.
func (v *vigil) leave() error {
	if v.master == nil {
		return nil
	}
	err := v.master.Err()
	v.master.Close()
	v.line.Leave(v.seat)
	v.master = nil
	if errors.Is(err, master.ErrRival) {
		return fmt.Errorf("%w: stop it, or be the other one with --master", err)
	}
	return err
}

// attach connects the line with the wire, until that ends.
func (v *vigil) attach(ctx context.Context) {
	wire := v.host.wire
	v.runner.Attach("port "+wire.Name(), wire, func() {
		wire.Close()
		if v.done() {
			return
		}
		_ = v.leave() // the master had no error, or it would be done
		v.sayText(waitingFor(wire))
		v.reopening.Go(func() {
			if wire := reopen(ctx, v.open, v.sayText); wire != nil {
				v.host.wire = wire // whatever becomes of it, the host closes it
				v.runner.Do(func() { v.resume(ctx) })
			}
		})
	})
}

// resume goes on at a wire that was opened again.
func (v *vigil) resume(ctx context.Context) {
	v.attach(ctx)
	v.join()
}
