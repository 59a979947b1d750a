package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"looptone/frame/payload"
)

type pollOptions struct {
	hostFlags
	reportFlag
	devices  []string
	commands []string // to be asked
	asks     []string
	files    []string // of definitions
	every    spanFlag
	length   spanFlag
	retries  int
	rounds   int
	fast     bool
	json     bool
	csv      bool

	asked []asking // by --ask
	each  []order  // of the devices of --device, or of those that are found
	known []asking // each of --device
	book  *payload.Book
}

func newPoll() *cobra.Command {
	o := pollOptions{
		every:  spanFlag{least: shortestPeriod, most: longestPeriod},
		length: spanFlag{least: time.Millisecond},
	}
	cmd := &cobra.Command{
		Use:   "poll",
		Short: "cyclic reading of chosen commands, with statistics",
		Long: `Poll asks devices again and again until it is stopped, and then says how often they
answered, and how soon. It only reads.

Without --device it first finds the devices at polling addresses 0 to 15. A DEVICE
is a tag, a long tag, a polling address, or a unique address of ten hex digits; a
COMMAND is a number, with data behind it where it needs any: 9=00010203. All
--command go to all --device, as often as there are turns or once a period of
--every; --ask is one command to one device with a period of its own.

With --report it writes, when it ends, a page that opens in any browser without a
network: lanes over time, devices, values, response times and statuses, as far as this
master asked and heard them.

On a terminal it shows a table that is redrawn in place (with NO_COLOR or
TERM=dumb, and where stdout is no terminal, a sentence a reading). When a port goes,
it is opened again as soon as it is there.

With --json each reading is an object: "event":"reading", "time" (when it had ended)
and on a wire "at", "device", "address", "command", "name", "try", "outcome" (answered,
damaged, silent, busy); of a reply "response", "device_status", "data", "values",
"revision", "revision_assumed" and "response_time", as decode writes them. At the end
comes an object for each device and command, each device, and all together:
"event":"tally", "device", "command", "asked", which is the sum of "answered",
"damaged", "silent", "busy" and "under_way"; "retries", "response_time" {"median",
"most_95", "most_99", "worst"}, "per_second", "utilisation", "age" of the oldest value;
all together also "took", "late_turns" and "latest_turn". What is not known is null; times are in seconds.`,
		Example: "  looptone poll\n  looptone poll --port /dev/ttyUSB0 --device LT-103 --command 3 --every 2s\n  looptone poll --ask LT-103:3:2s --ask FC-105:1 --for 1m --json\n  looptone poll --fast --rounds 10",
		Args:    noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := cmp.Or(o.check(cmd), o.reportFlag.check(cmd)); err != nil {
				return usageError{err}
			}
			return o.run(cmd.Context(), cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	o.hostFlags.add(cmd)
	o.add(cmd)
	o.reportFlag.add(cmd, "what was read")
	return cmd
}

func (o *pollOptions) add(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringArrayVar(&o.devices, "device", nil, "`DEVICE` to ask (repeatable; default: those that are found)")
	f.StringArrayVar(&o.commands, "command", nil, "`COMMAND` to ask for (repeatable; default 3)")
	f.StringArrayVar(&o.asks, "ask", nil, "`DEVICE:COMMAND[:PERIOD]`, one of its own (repeatable)")
	f.StringArrayVar(&o.files, "commands", nil, "definitions of device-specific commands in `FILE.toml` (repeatable)")
	f.Var(&o.every, "every", "period of what --device and --command ask for (default: as often as there are turns)")
	f.IntVar(&o.retries, "retries", 3, "how often to ask again where there is no answer, up to 10")
	f.IntVar(&o.rounds, "rounds", 0, "end when everything was asked `N` times (default: never)")
	f.Var(&o.length, "for", "end after `DURATION`")
	f.BoolVar(&o.fast, "fast", false, "a simulated line as fast as it can be computed, with --rounds or --for")
	f.BoolVar(&o.json, "json", false, "one JSON object a reading")
	f.BoolVar(&o.csv, "csv", false, "a table of measured values")
}

const (
	mostRetries = 10
	mostRounds  = 1_000_000_000
)

func (o *pollOptions) check(cmd *cobra.Command) error {
	if err := o.hostFlags.check(cmd); err != nil {
		return err
	}
	_, real := o.real()
	switch {
	case o.json && o.csv:
		return errors.New("--json or --csv, not both")
	case cmd.Flags().Changed("rounds") && (o.rounds < 1 || o.rounds > mostRounds):
		return fmt.Errorf("--rounds %d is out of range, want 1 to %d", o.rounds, mostRounds)
	case o.fast && real:
		return errors.New("--fast runs in line time, and a wire does not: leave out --port, --tcp and --rfc2217")
	case o.fast && o.length.span == 0 && o.rounds == 0:
		return errors.New("--fast goes with --rounds or --for: nobody would end it")
	}
	if err := checkRanges(cmd, []limit{{"retries", o.retries, mostRetries}}); err != nil {
		return err
	}
	return o.parse()
}

// parse reads what is to be asked, as far as that is known without the devices.
func (o *pollOptions) parse() error {
	for _, text := range o.asks {
		a, err := parseAsking(text)
		if err != nil {
			return fmt.Errorf("--ask %q: %w", text, err)
		}
		o.asked = append(o.asked, a)
	}
	if len(o.commands) == 0 && (len(o.asks) == 0 || len(o.devices) > 0) {
		o.each = []order{{command: 3}}
	}
	for _, text := range o.commands {
		order, err := parseOrder(text)
		if err != nil {
			return fmt.Errorf("--command %q: %w", text, err)
		}
		o.each = append(o.each, order)
	}
	if len(o.each) == 0 && o.every.span > 0 {
		return errors.New("--every goes with --device or --command; --ask has a period of its own")
	}
	for _, text := range o.devices {
		device, err := parseTarget(text)
		if err != nil {
			return fmt.Errorf("--device %q: %w", text, err)
		}
		for _, order := range o.each {
			o.known = append(o.known, asking{device, order, o.every.span})
		}
	}
	return o.checkKnown()
}

// checkKnown refuses early what would be refused when the devices are found.
func (o *pollOptions) checkKnown() error {
	if len(o.files) > 0 {
		return nil // which may define commands for some devices only
	}
	for _, a := range o.asked {
		if err := a.check(nil, payload.AnyDevice); err != nil {
			return err
		}
	}
	for _, order := range o.each {
		if err := order.check(nil, payload.AnyDevice); err != nil {
			return err
		}
	}
	schedule, err := queries(append(o.known[:len(o.known):len(o.known)], o.asked...))
	if err != nil {
		return err
	}
	return checkLoad(schedule)
}

// finds reports whether the devices are to be found first.
func (o *pollOptions) finds() bool { return len(o.devices) == 0 && len(o.each) > 0 }

func (o *pollOptions) run(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) (err error) {
	if o.book, err = readCommands(o.files); err != nil {
		return err
	}
	file, err := o.create(append(o.files[:len(o.files):len(o.files)], o.line)...)
	if err != nil {
		return err
	}
	defer file.Close()
	h, err := o.open(ctx, stderr)
	if err != nil {
		return err
	}
	defer h.Close()
	p := newPolling(o, h)
	defer p.vigil.Close()
	traffic := p.reported()
	err = p.run(ctx, stdin, stdout, stderr)
	if file != nil && p.begun {
		err = cmp.Or(file.Save(traffic), err)
	}
	return err
}
