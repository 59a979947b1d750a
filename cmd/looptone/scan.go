package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/sim/linefile"
	"looptone/sim/master"
)

type scanOptions struct {
	hostFlags
	from, to int
	retries  int
	watch    watchFlag
	json     bool
}

func newScan() *cobra.Command {
	var o scanOptions
	cmd := &cobra.Command{
		Use:   "scan",
		Short: "which polling addresses answer, and who they are",
		Long: `Scan asks every polling address for its identity, and devices that answer for
their tag, loop current mode, loop current and primary variable. It only reads.

With --watch it goes on until it is stopped, in real time on a simulated line too:
behind what is there it tells what comes, goes, or has another polling address or
tag. In --json these are objects with "event" (came, went, changed), "time" and on a
wire "at"; of what has changed, "was" has "polling", "tag" and "long_tag" as they were.
When a port goes, it is opened again as soon as it is there.`,
		Example: "  looptone scan\n  looptone scan --port /dev/ttyUSB0\n  looptone scan --tcp 127.0.0.1:7031 --json\n  looptone scan --port /dev/ttyUSB0 --watch=1m",
		Args:    scanArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := o.check(cmd); err != nil {
				return usageError{err}
			}
			return o.run(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	o.hostFlags.add(cmd)
	f := cmd.Flags()
	f.IntVar(&o.from, "from", 0, "first polling address")
	f.IntVar(&o.to, "to", frame.MaxPolling5, "last polling address, up to 63")
	f.IntVar(&o.retries, "retries", 2, "how often to ask again where something was heard that could not be read")
	o.watch.add(cmd)
	f.BoolVar(&o.json, "json", false, "one JSON object a device")
	return cmd
}

func (o *scanOptions) check(cmd *cobra.Command) error {
	if err := o.hostFlags.check(cmd); err != nil {
		return err
	}
	if o.from > o.to {
		return fmt.Errorf("--from %d lies behind --to %d", o.from, o.to)
	}
	return checkRanges(cmd, []limit{{"from", o.from, frame.MaxPolling}, {"to", o.to, frame.MaxPolling}, {"retries", o.retries, 100}})
}

func (o *scanOptions) run(ctx context.Context, stdout, stderr io.Writer) error {
	h, err := o.open(ctx, stderr)
	if err != nil {
		return err
	}
	defer h.Close()
	if o.watch.on {
		return o.watchOver(ctx, h, stdout, stderr)
	}
	s := &scanning{scanOptions: o, line: h.name, stdout: stdout, assembly: h.assembly}
	scan := master.Scan{From: uint8(o.from), To: uint8(o.to), Retries: o.retries, Found: s.tell}
	took, err := h.work(ctx, scan.Run)
	if err == nil {
		err = s.writeErr
	}
	if err != nil {
		return err
	}
	return s.end(stderr, took)
}

// A scanning is what one scan has found.
type scanning struct {
	*scanOptions
	line       string // its name
	stdout     io.Writer
	writeErr   error
	devices    int
	unreadable int
	assembly   *linefile.Assembly // of a simulated line
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
