package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"looptone/serialio"
	"looptone/sim"
	"looptone/sim/linefile"
	"looptone/sim/live"
	"looptone/sim/master"
)

// portLateness is by how much a port may tell later than the line what came in.
// Source: common practice (16 ms is usual behind a USB adapter).
const portLateness = 16 * time.Millisecond

// hostFlags say where a master works, and as which of the two.
type hostFlags struct {
	wireFlags
	master string
	seed   seedFlag
}

func (f *hostFlags) add(cmd *cobra.Command) {
	f.wireFlags.add(cmd)
	cmd.Flags().StringVar(&f.master, "master", "", "primary or secondary (default: secondary on a wire, primary on a simulated line)")
	choices(cmd, "master", "primary", "secondary")
	f.seed.add(cmd)
}

func (f *hostFlags) check(cmd *cobra.Command) error {
	if err := f.wireFlags.check(cmd); err != nil {
		return err
	}
	if _, real := f.real(); real && f.seed.value != nil {
		return errors.New("--seed goes with a simulated line")
	}
	if f.master != "" && f.master != "primary" && f.master != "secondary" {
		return fmt.Errorf("--master takes primary or secondary, got %q", f.master)
	}
	return nil
}

// A host is the place of a master: on a simulated line, or at one end of a wire.
type host struct {
	name     string
	assembly *linefile.Assembly // of a simulated line
	wire     *serialio.Port     // nil on a simulated line
	config   master.Config
	witness  sim.Station // hears what is said; may be nil
	say      func(string)
	spoilt   spoilt
}

// open opens the wire, or assembles the line.
func (f *hostFlags) open(ctx context.Context, stderr io.Writer) (*host, error) {
	if name, ok := f.real(); ok {
		wire, err := f.wireFlags.open(ctx, stderr)
		if err != nil {
			return nil, err
		}
		return &host{name: name, wire: wire, say: func(text string) { fmt.Fprintln(stderr, text) },
			config: master.Config{Primary: f.master == "primary", Lateness: sim.Ticks(portLateness)}}, nil
	}
	a, said, err := assemble(f.line, f.seed.value)
	if err != nil {
		return nil, err
	}
	fmt.Fprintln(stderr, said)
	a.News = func(at sim.Tick, news string) { fmt.Fprintf(stderr, "%9.3f s  %s\n", at.Seconds(), news) }
	primary, err := f.primaryOn(a)
	if err != nil {
		a.Close()
		return nil, err
	}
	return &host{name: a.Name, assembly: a, config: master.Config{Primary: primary}}, nil
}

// primaryOn reports whether the host is the primary master of a simulated line:
// unless it is to be the other one, or the line has one of its own.
func (f *hostFlags) primaryOn(a *linefile.Assembly) (bool, error) {
	var taken [2]bool // by the secondary and by the primary master
	for _, h := range a.Masters {
		taken[seatOf(h.Master.Primary)] = true
	}
	primary := f.master != "secondary"
	if f.master == "" && taken[1] {
		primary = false
	}
	if !taken[seatOf(primary)] {
		return primary, nil
	}
	if taken[seatOf(!primary)] {
		return false, errors.New("the line has a primary and a secondary master of its own: there is room for two")
	}
	return false, fmt.Errorf("the line has a %s master of its own: leave out --master, or be the other one", f.master)
}

func seatOf(primary bool) int {
	if primary {
		return 1
	}
	return 0
}

// Close closes the wire, or ends what the line's own masters ask.
func (h *host) Close() error {
	if h.wire == nil {
		h.assembly.Close()
		return nil
	}
	return h.wire.Close()
}

// listen has a station hear what is said in all that is worked from now on.
func (h *host) listen(witness sim.Station) {
	h.witness = witness
	if h.assembly != nil {
		h.assembly.Line.Join(witness)
	}
}

// work has a master carry a script out, in real time on a wire and as fast as it
// can be computed on a simulated line. took says how long that was on the line.
func (h *host) work(ctx context.Context, script master.Script) (took string, err error) {
	m := master.New(h.config, script)
	defer m.Close()
	if h.wire != nil {
		took, err = h.workWire(ctx, m)
	} else {
		took = workLine(h.assembly.Line, m)
	}
	switch {
	case err != nil:
		return took, err
	case errors.Is(m.Err(), master.ErrRival):
		return took, fmt.Errorf("%w: stop it, or be the other one with --master", m.Err())
	}
	return took, m.Err()
}

func workLine(line *sim.Line, m *master.Master) (took string) {
	line.Join(m)
	for !m.Done() && line.Next() != sim.Never {
		line.Run(line.Next())
	}
	return fmt.Sprintf("on a wire it takes %.1f s", line.Now().Seconds())
}

// workWire gives the master a line of its own, at the end of which is the wire.
func (h *host) workWire(ctx context.Context, m *master.Master) (took string, err error) {
	line := sim.NewLine(0)
	line.Join(m)
	if h.witness != nil {
		line.Join(h.witness)
	}
	began := time.Now()
	gone := false
	runner := live.NewRunner(line)
	runner.OnSpoilt(func() { h.spoilt.tell(time.Now(), h.say) })
	runner.Attach(h.name, h.wire, func() { gone = true })
	runner.Run(ctx, func() bool { return gone || m.Done() })
	switch {
	case ctx.Err() != nil:
		err = errInterrupted
	case gone:
		err = ended(h.wire)
	}
	return fmt.Sprintf("it took %.1f s", time.Since(began).Seconds()), err
}
