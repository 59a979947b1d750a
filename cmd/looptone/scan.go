package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/sim"
	"looptone/sim/linefile"
	"looptone/sim/live"
	"looptone/sim/master"
)

// portLateness is by how much a port may tell later than the line what came in.
// Source: common practice (16 ms is usual behind a USB adapter).
const portLateness = 16 * time.Millisecond

type scanOptions struct {
	wireFlags
	from, to int
	retries  int
	master   string
	seed     seedFlag
	json     bool
}

func newScan() *cobra.Command {
	var o scanOptions
	cmd := &cobra.Command{
		Use:   "scan",
		Short: "which polling addresses answer, and who they are",
		Long: `Scan asks every polling address for its identity, and devices that answer for
their tag, loop current mode, loop current and primary variable. It only reads.`,
		Example: "  looptone scan\n  looptone scan --port /dev/ttyUSB0\n  looptone scan --tcp 127.0.0.1:7031 --json",
		Args:    noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := o.check(cmd); err != nil {
				return usageError{err}
			}
			return o.run(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	o.add(cmd)
	f := cmd.Flags()
	f.IntVar(&o.from, "from", 0, "first polling address")
	f.IntVar(&o.to, "to", frame.MaxPolling5, "last polling address, up to 63")
	f.IntVar(&o.retries, "retries", 2, "how often to ask again where something was heard that could not be read")
	f.StringVar(&o.master, "master", "", "primary or secondary (default: secondary on a wire, primary on a simulated line)")
	choices(cmd, "master", "primary", "secondary")
	o.seed.add(cmd)
	f.BoolVar(&o.json, "json", false, "one JSON object a device")
	return cmd
}

func (o *scanOptions) check(cmd *cobra.Command) error {
	if err := o.wireFlags.check(cmd); err != nil {
		return err
	}
	if _, real := o.real(); real && o.seed.value != nil {
		return errors.New("--seed goes with a simulated line")
	}
	if err := checkRanges(cmd, []limit{{"from", o.from, frame.MaxPolling}, {"to", o.to, frame.MaxPolling}, {"retries", o.retries, 100}}); err != nil {
		return err
	}
	if o.from > o.to {
		return fmt.Errorf("--from %d lies behind --to %d", o.from, o.to)
	}
	if o.master != "" && o.master != "primary" && o.master != "secondary" {
		return fmt.Errorf("--master takes primary or secondary, got %q", o.master)
	}
	return nil
}

func (o *scanOptions) run(ctx context.Context, stdout, stderr io.Writer) error {
	if name, ok := o.real(); ok {
		return o.runWire(ctx, name, stdout, stderr)
	}
	return o.runLine(stdout, stderr)
}

// A scanning is one scan: a master that works, and what it found.
type scanning struct {
	*scanOptions
	line       string // its name
	stdout     io.Writer
	writeErr   error
	master     *master.Master
	devices    int
	unreadable int
	assembly   *linefile.Assembly // of a simulated line
}

func (o *scanOptions) begin(line string, stdout io.Writer, c master.Config) *scanning {
	s := &scanning{scanOptions: o, line: line, stdout: stdout}
	scan := master.Scan{From: uint8(o.from), To: uint8(o.to), Retries: o.retries, Found: s.tell}
	s.master = master.New(c, scan.Run)
	return s
}

func (s *scanning) tell(f master.Found) {
	if f.Unreadable {
		s.unreadable++
	} else {
		s.devices++
	}
	line := []byte(view.FoundSentence(&f) + s.sharers(&f))
	if s.json {
		line = view.AppendFound(nil, s.line, &f)
	}
	if _, err := s.stdout.Write(append(line, '\n')); err != nil && s.writeErr == nil {
		s.writeErr = err
		s.master.Close()
	}
}

// sharers names who is behind an unreadable address, which a master cannot know
// but the simulated line can.
func (s *scanning) sharers(f *master.Found) string {
	if !f.Unreadable || s.assembly == nil {
		return ""
	}
	var tags []string
	for _, d := range s.assembly.Devices {
		if d.Polling() == f.Polling {
			tags = append(tags, d.Config().Tag)
		}
	}
	if len(tags) < 2 {
		return ""
	}
	return ": " + strings.Join(tags, " and ") + " share it"
}

// end says how long it took, and whether anybody was there.
func (s *scanning) end(stderr io.Writer, took string) error {
	if err := s.master.Err(); errors.Is(err, master.ErrRival) {
		return fmt.Errorf("%w: stop it, or be the other one with --master", err)
	} else if err != nil {
		return err
	}
	if s.writeErr != nil {
		return s.writeErr
	}
	what := count(s.devices, "device", "devices")
	if s.unreadable > 0 {
		what += " and " + count(s.unreadable, "unreadable address", "unreadable addresses")
	}
	fmt.Fprintf(stderr, "%s at polling addresses %d to %d; %s\n", what, s.from, s.to, took)
	switch {
	case s.unreadable > 0:
		return errNotInOrder
	case s.devices == 0:
		return errNobody
	}
	return nil
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// runLine scans a simulated line, as fast as it can be computed.
func (o *scanOptions) runLine(stdout, stderr io.Writer) error {
	a, name, err := assemble(o.line, o.seed.value)
	if err != nil {
		return err
	}
	fmt.Fprintln(stderr, name)
	s := o.begin(a.Name, stdout, master.Config{Primary: o.master != "secondary"})
	s.assembly = a
	defer s.master.Close()
	a.Line.Join(s.master)
	for !s.master.Done() && a.Line.Next() != sim.Never {
		a.Line.Run(a.Line.Next())
	}
	return s.end(stderr, fmt.Sprintf("on a wire it takes %.1f s", a.Line.Now().Seconds()))
}

// runWire scans what is at the other end of a wire.
func (o *scanOptions) runWire(ctx context.Context, name string, stdout, stderr io.Writer) error {
	wire, err := o.open(ctx, stderr)
	if err != nil {
		return err
	}
	defer wire.Close()
	began := time.Now()
	s := o.begin(name, stdout, master.Config{Primary: o.master == "primary", Lateness: sim.Ticks(portLateness)})
	defer s.master.Close()
	line := sim.NewLine(0)
	line.Join(s.master)
	gone := false
	runner := live.NewRunner(line)
	runner.Attach(wire, func() { gone = true })
	runner.Run(ctx, func() bool { return gone || s.master.Done() })
	switch {
	case ctx.Err() != nil:
		return errInterrupted
	case gone:
		return ended(wire)
	}
	return s.end(stderr, fmt.Sprintf("it took %.1f s", time.Since(began).Seconds()))
}
