package main

import (
	"context"
	"fmt"
	"io"
	"sync"

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
	seed   seedFlag
	json   bool
}

func newSim() *cobra.Command {
	var o simOptions
	cmd := &cobra.Command{
		Use:   "sim [LINE.toml]",
		Short: "a simulated line in real time, reached over a pty, a serial port or TCP",
		Long: `Sim runs a line of devices in real time: the one that LINE.toml describes, or the
built-in demonstration line. Hosts reach it over a pty that sim makes, a serial
port, or TCP, where each client is a station of its own. It says what is said on
the line until it is stopped.`,
		Example: "  looptone sim --pty /tmp/loop\n  looptone sim plant.toml --listen 127.0.0.1:5094 --json",
		Args:    oneFileAtMost,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				o.file = args[0]
			}
			if o.pty == "" && o.port == "" && o.listen == "" {
				return usagef("sim wants somewhere to be reached at: --pty LINK, --port NAME or --listen HOST:PORT")
			}
			return o.run(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.pty, "pty", "", "make a pty, and a symbolic link `LINK` to it")
	f.StringVar(&o.port, "port", "", "serial port `NAME`, with a modem behind it")
	f.StringVar(&o.listen, "listen", "", "wait for TCP clients on `HOST:PORT`")
	o.addPort(cmd)
	o.seed.add(cmd)
	f.BoolVar(&o.json, "json", false, "one JSON object a message")
	return cmd
}

// A simulation is a line that runs, and the ways to it.
type simulation struct {
	*simOptions
	runner *live.Runner
	stderr io.Writer
	lost   error // why a pty or port ended; set on the line's goroutine
}

func (o *simOptions) run(ctx context.Context, stdout, stderr io.Writer) error {
	a, name, err := assemble(o.file, o.seed.value)
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	out := newSpool(stdout)
	defer func() {
		if lost := out.Close(); lost > 0 {
			fmt.Fprintf(stderr, "%s: nobody read them\n", count(int(lost), "line of output was lost", "lines of output were lost"))
		}
	}()
	a.Line.Join(&witness{out: out, json: o.json})
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
	var work sync.WaitGroup
	work.Go(func() { s.accept(ctx, l, &work) })
	return func() {
		l.Close()
		work.Wait()
	}, nil
}

// accept gives every client a seat on the line until it goes.
func (s *simulation) accept(ctx context.Context, l *serialio.Listener, work *sync.WaitGroup) {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	for {
		client, err := l.Accept()
		if err != nil {
			return // closed: the only way that waiting ends
		}
		s.runner.Attach(client, func() { client.Close() })
		work.Go(func() {
			<-ctx.Done()
			client.Close()
		})
	}
}
