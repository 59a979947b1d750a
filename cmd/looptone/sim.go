package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os/signal"
	"sync"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"looptone/serialio"
	"looptone/sim/linefile"
	"looptone/sim/live"
)

type simOptions struct {
	wireFlags
	file   string
	pty    string
	listen string
	fast   spanFlag
	values spanFlag
	state  stateFlags
	seed   seedFlag
	json   bool
}

func newSim() *cobra.Command {
	o := simOptions{
		fast:   spanFlag{least: time.Millisecond},
		values: spanFlag{least: shortestPeriod, most: longestPeriod},
	}
	cmd := &cobra.Command{
		Use:   "sim [LINE.toml]",
		Short: "a simulated line in real time, reached over a pty, a serial port or TCP",
		Long: `Sim runs a line of devices in real time: the one that LINE.toml describes, or the
built-in demonstration line, whose file "looptone list example" prints. Hosts reach
it over a pty that sim makes, a serial port, or TCP, where each client is a station
of its own. It says what is said on the line until it is stopped.

With --values it shows instead what stands behind every stage of every device, from
the process to the loop current: one JSON object a device and period of line time,
the first of a device with its units. "device" is the tag of the line file, also
where another was written to the device. With --json the messages come too; they
are the objects with an "event". A simulation that cannot be reached ends when
nobody reads its values any more.

With --fast the line runs as fast as it can be computed. Nobody can reach it, and so
nobody talks on it yet: it is for --values, and for what --state keeps.

With --state devices remember from run to run what was written to them, and their
totals; LINE.toml has the values that they left the factory with.`,
		Example: "  looptone sim --pty loop\n  looptone sim plant.toml --listen 127.0.0.1:7031 --json\n  looptone sim plant.toml --fast 1h --values=10s",
		Args:    simArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				o.file = args[0]
			}
			if err := o.check(cmd); err != nil {
				return usageError{err}
			}
			return o.run(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.pty, "pty", "", "make a pty, and a symbolic link `LINK` to it")
	f.StringVar(&o.port, "port", "", "serial port `NAME`, with a modem behind it")
	f.StringVar(&o.listen, "listen", "", "wait for TCP clients on `HOST:PORT`")
	o.addPort(cmd)
	f.Var(&o.fast, "fast", "run `DURATION` of line time as fast as it can be computed")
	f.Var(&o.values, "values", "every stage output of every device, once a `PERIOD` of line time, as JSON lines")
	f.Lookup("values").NoOptDefVal = usualPeriod
	o.state.add(cmd)
	o.seed.add(cmd)
	f.BoolVar(&o.json, "json", false, "one JSON object a message")
	return cmd
}

// simArgs refuses more than a file, and a period that stands apart from --values.
func simArgs(cmd *cobra.Command, args []string) error {
	for _, arg := range args {
		if _, err := time.ParseDuration(arg); err == nil && cmd.Flags().Changed("values") {
			return usagef("--values takes its period behind an equals sign: --values=%s", arg)
		}
	}
	return oneFileAtMost(cmd, args)
}

func (o *simOptions) check(cmd *cobra.Command) error {
	if err := o.wireFlags.check(cmd); err != nil {
		return err
	}
	if err := o.state.check(cmd); err != nil {
		return err
	}
	switch {
	case o.fast.span > 0 && o.reached():
		return errors.New("--fast runs in line time, where nobody can reach the line: leave out --pty, --port and --listen")
	case o.fast.span == 0 && o.values.span == 0 && !o.reached():
		return errors.New("sim wants somewhere to be reached at: --pty LINK, --port NAME or --listen HOST:PORT; or --values or --fast DURATION")
	}
	return nil
}

// reached reports whether there is a way to the line.
func (o *simOptions) reached() bool { return o.pty != "" || o.port != "" || o.listen != "" }

func (o *simOptions) run(ctx context.Context, stdout, stderr io.Writer) error {
	d, name, err := describe(o.file)
	if err != nil {
		return err
	}
	kept, err := o.state.open(d, o.fast.span > 0, stderr)
	if err != nil {
		return err
	}
	a, err := kept.assemble(d, o.seed.value, stderr)
	switch {
	case err != nil:
	case o.fast.span > 0:
		fmt.Fprintf(stderr, "%s: %s\n", name, deviceCount(a))
		err = o.runFast(ctx, a, stdout, stderr)
	default:
		err = o.runLive(ctx, a, name, stdout, stderr)
	}
	return cmp.Or(err, kept.end(a))
}

// A simulation is a line that runs, and the ways to it.
type simulation struct {
	*simOptions
	runner *live.Runner
	stderr io.Writer
	lost   error // why a pty or port ended; set on the line's goroutine
}

// runLive runs the line in real time until ctx ends. Whoever reads along may go: a
// line that can be reached stays; one that cannot has nobody left to run for, and
// that is its normal end, as an interrupt is.
func (o *simOptions) runLive(ctx context.Context, a *linefile.Assembly, name string, stdout, stderr io.Writer) error {
	signal.Ignore(syscall.SIGPIPE)
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	failed := stop
	if o.reached() {
		failed = func() {}
	}
	out := newSpool(stdout, failed)
	if o.json || o.values.span == 0 {
		a.Line.Join(&witness{out: out, json: o.json})
	}
	o.monitor(a, out)
	err := o.runLine(ctx, a, name, stderr)
	outErr := out.Close()
	if !o.reached() && errors.Is(outErr, syscall.EPIPE) {
		outErr = nil
	}
	return cmp.Or(err, outErr)
}

func (o *simOptions) runLine(ctx context.Context, a *linefile.Assembly, name string, stderr io.Writer) error {
	s := &simulation{simOptions: o, runner: live.NewRunner(a.Line), stderr: stderr}
	ports, err := s.open(ctx)
	defer func() {
		for _, p := range ports {
			p.Close()
		}
	}()
	if err != nil {
		return err
	}
	clients, err := s.wait(ctx)
	if err != nil {
		return err
	}
	defer clients()
	fmt.Fprintf(stderr, "%s: %s\n", name, deviceCount(a))
	s.runner.Run(ctx, func() bool { return s.lost != nil })
	return s.lost
}

func deviceCount(a *linefile.Assembly) string { return count(len(a.Devices), "device", "devices") }

// open opens the pty and the port.
func (s *simulation) open(ctx context.Context) (ports []*serialio.Port, err error) {
	attach := func(p *serialio.Port, err error) error {
		if err != nil {
			return err
		}
		ports = append(ports, p)
		s.runner.Attach(p, func() { s.lost = ended(p) })
		return nil
	}
	if s.pty != "" {
		if err := attach(serialio.NewPTY(s.pty)); err != nil {
			return ports, err
		}
		fmt.Fprintf(s.stderr, "pty at %s\n", s.pty)
	}
	if s.port != "" {
		if err := attach(s.wireFlags.open(ctx, s.stderr)); err != nil {
			return ports, err
		}
	}
	return ports, nil
}

// wait waits for TCP clients until the function that it returns is called.
func (s *simulation) wait(ctx context.Context) (stop func(), err error) {
	if s.listen == "" {
		return func() {}, nil
	}
	l, err := serialio.Listen(s.listen)
	if err != nil {
		return nil, err
	}
	fmt.Fprintf(s.stderr, "listening on %s\n", l.Addr())
	ctx, cancel := context.WithCancel(ctx)
	var work sync.WaitGroup
	work.Go(func() { s.accept(ctx, l) })
	return func() {
		cancel()
		l.Close()
		work.Wait()
	}, nil
}

// retryAccept is how long to wait when a client cannot be taken, for instance
// because too many files are open.
const retryAccept = time.Second

// accept gives every client a seat on the line until it, or ctx, ends.
func (s *simulation) accept(ctx context.Context, l *serialio.Listener) {
	for said := ""; ; {
		client, err := l.Accept()
		switch {
		case errors.Is(err, serialio.ErrClosed):
			return
		case err == nil:
			stop := context.AfterFunc(ctx, func() { client.Close() })
			s.runner.Attach(client, func() { stop(); client.Close() })
			continue
		case err.Error() != said:
			said = err.Error()
			fmt.Fprintf(s.stderr, "%v; trying again\n", err)
		}
		select {
		case <-time.After(retryAccept):
		case <-ctx.Done():
			return
		}
	}
}
