package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"looptone/sim/device"
	"looptone/sim/fault"
	"looptone/sim/linefile"
)

type simOptions struct {
	wireFlags
	file    string
	pty     string
	listen  string
	control string
	fast    spanFlag
	values  spanFlag
	faults  []string
	log     string
	page    pageFlags
	state   stateFlags
	seed    seedFlag
	wav     waveFlags

	findings, strict bool
	json             bool
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

With --fast the line runs as fast as it can be computed. Nobody can reach it, so
only masters that the line file describes talk on it; in the end it says what was
counted.

With --fast and --wav the whole conversation is rendered as a waveform: the voltage
across the line's resistor, of 250 ohm where the line file says nothing. The current
of all devices moves below 25 Hz, and on it are the tones of everybody who talks, with
his own amplitude, phase and clock; two at once add up. Full scale is 100 V unless
--full-scale says otherwise: 15 devices with 22 mA make 82.5 V. "looptone decode FILE"
reads it.

With --log everything that goes on the line is written down as JSON lines, so that
every rule can be checked from outside. All moments are whole ticks of line time.
The first object says which line it is, with its "seed" and "ticks_per_second"; the
last one, {"end":…}, how far the line has run. In between there is an object a
carrier, when it goes on: its "talker", "on" and "off", its "level" in volts peak to
peak at a receiver, and its "characters", each as [byte, edge of its start bit, end
of its stop bit], with a fourth word where it was sent wrongly: p with a wrong
parity bit, f without a stop bit. Of a host outside there is no carrier: it is
logged in the pieces in which it arrives. With "--log -" they are on stdout. "looptone
decode FILE" reads a log.

With --fault something is wrong on the line from the beginning: "looptone list
faults" has all kinds. With "--control -" actions are read from stdin, one JSON
object a line, the same as [[at]] in a line file, such as {"mute":"LT-103"} or
{"fault":{"kind":"no reply","device":"LT-103"}}, with a "time" or for now. Each is
answered on stdout in a line, {"ok":true,"time":…,"did":"…"} or {"ok":false,
"error":"stdin:7:9: …"}, with the line and the column of what is wrong. The line goes
on when stdin ends. What is done at its time is told on stderr, with --json also as an
object with "event":"action".

Where the line file describes supply, resistor, cable or lift-off voltages, they act:
a device with too little voltage goes dark, and comes back with cold start; tones
reach each receiver as strongly as the wires let them. What happens is told as actions
are, with "event":"loop"; and --values has the voltage across each device, terminal_v.

With --page browsers see the line at HOST:PORT: the wires, who talks, every message
taken apart, the devices and their values. It is this machine alone unless HOST is
another address. Everybody who opens the page looks on; the address with the key, which
is printed at the start, lets the line stand still, scan, poll and change things too.
With --page alone, a primary master polls all devices until it is told otherwise.

With --findings it says in the end what the hosts outside have kept and broken of
the rules of the line, or where nobody was outside, the masters of the line file;
with --json an object a finding. With --control, {"findings":true} asks for them at
any moment.

With --state devices remember from run to run what was written to them, and their
totals; LINE.toml has the values that they left the factory with.`,
		Example: `  looptone sim --pty loop
  looptone sim plant.toml --listen 127.0.0.1:7031 --json
  looptone sim plant.toml --fast 1h --values=10s
  looptone sim two-masters.toml --fast 1m --log line.log
  looptone sim two-masters.toml --fast 1m --wav line.wav
  looptone sim --page 127.0.0.1:8080
  looptone sim --pty loop --fault "late reply, device=LT-103, delay_chars=30" --findings`,
		Args: simArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				o.file = args[0]
			}
			if err := o.check(cmd); err != nil {
				return usageError{err}
			}
			return o.run(cmd.Context(), cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr())
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
	f.StringVar(&o.log, "log", "", "write every character on the line, with its times and talker, to `FILE`; - is stdout")
	f.StringArrayVar(&o.faults, "fault", nil, "`FAULT` on the line, such as \"late reply, device=LT-103, delay_chars=30\" (repeatable)")
	f.StringVar(&o.page.at, "page", "", "show the line to browsers at `HOST:PORT`, and let whoever has the printed key change it")
	f.StringVar(&o.control, "control", "", "take actions as JSON lines from `-`, stdin, and answer each on stdout")
	o.state.add(cmd)
	o.seed.add(cmd)
	o.wav.add(cmd, "the voltage across the line's resistor", usualLineScale)
	f.BoolVar(&o.findings, "findings", false, "say at the end what the hosts outside have kept and broken")
	f.BoolVar(&o.strict, "strict", false, "exit code 3 when --findings has a rule that was broken")
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
	if err := checkNotEmpty(cmd, "log", "control", "page"); err != nil {
		return err
	}
	if err := o.page.check(); err != nil {
		return err
	}
	fast := o.fast.span > 0
	if err := o.wav.check(cmd); err != nil {
		return err
	}
	switch {
	case !fast && o.wav.file != "":
		return errors.New("--wav goes with --fast DURATION, which says how long the waveform is")
	case fast && o.reached():
		return errors.New("--fast runs in line time, where nobody can reach the line: leave out --pty, --port, --rfc2217 and --listen")
	case fast && o.page.at != "":
		return errors.New("--fast runs in line time, which nobody can follow on a page: leave out --page")
	case fast && o.control != "":
		return errors.New("--fast runs in line time, where nobody can tell when --control is heard: write [[at]] into the line file")
	case o.strict && !o.findings:
		return errors.New("--strict goes with --findings")
	case o.control != "" && o.control != "-":
		return fmt.Errorf("--control takes - for stdin, got %q", o.control)
	}
	return nil
}

// reached reports whether there is a way to the line.
func (o *simOptions) reached() bool {
	_, real := o.real()
	return o.pty != "" || real || o.listen != ""
}

// idle reports whether a line would run for nothing: nobody can reach it, nobody on
// it talks by himself, and nobody wants to know anything of it.
func (o *simOptions) idle(d *linefile.Description) bool {
	talks := len(d.Masters) > 0 || slices.ContainsFunc(d.Devices, func(c device.Config) bool { return len(c.Bursts) > 0 })
	return !talks && !o.reached() && o.page.at == "" && o.control == "" && o.values.span == 0 && o.log == "" && o.fast.span == 0
}

// checkLine refuses what does not go with the line.
func (o *simOptions) checkLine(d *linefile.Description) error {
	switch {
	case o.idle(d):
		return errors.New("sim wants somewhere to be reached at: --pty LINK, --port NAME or --listen HOST:PORT; or --page HOST:PORT, --control -, --values, --log FILE or --fast DURATION")
	case o.fast.span > 0 && slices.ContainsFunc(d.Actions, (*linefile.Action).Stops):
		return errors.New("the line file stops the line, and with --fast nobody can let it go on: leave out one of them")
	case o.wav.file != "":
		return o.checkWave(d)
	}
	return nil
}

// objects reports whether stdout is for JSON lines: then sentences are not said, or
// said on stderr.
func (o *simOptions) objects() bool {
	return o.json || o.values.span > 0 || o.log == "-" || o.control != ""
}

func (o *simOptions) run(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) error {
	d, name, err := describe(o.file)
	if err != nil {
		return err
	}
	if err := o.checkLine(d); err != nil {
		return usageError{err}
	}
	faults, err := o.readFaults(d)
	if err != nil {
		return usageError{err}
	}
	file, err := o.createLog()
	if err != nil {
		return err
	}
	defer file.Close()
	kept, err := o.state.open(d, o.fast.span > 0, stderr)
	if err != nil {
		return err
	}
	a, err := kept.assemble(d, o.seed.value, stderr)
	if err == nil {
		defer a.Close()
		err = addFaults(a, faults)
	}
	if err == nil {
		s := o.simulation(d, a, faults)
		s.file, s.stdin, s.stderr = file, stdin, stderr
		err = s.run(ctx, name, stdout)
	}
	return cmp.Or(err, kept.end(a))
}

// simulation is a line that is ready to run.
func (o *simOptions) simulation(d *linefile.Description, a *linefile.Assembly, faults []fault.Fault) *simulation {
	s := &simulation{simOptions: o, description: d, assembly: a, seed: d.Seed, struck: faults}
	if o.seed.value != nil {
		s.seed = *o.seed.value
	}
	if o.findings || o.control != "" {
		s.hosts = newHostJudge()
		for _, f := range slices.Concat(d.Faults, faults) {
			s.hosts.addFault(&f)
		}
		for _, x := range d.Actions {
			s.hosts.addAction(x)
		}
	}
	return s
}

// readFaults are the faults that --fault names.
func (o *simOptions) readFaults(d *linefile.Description) (faults []fault.Fault, err error) {
	for _, text := range o.faults {
		f, err := d.ReadFault(text)
		if err != nil {
			return nil, err
		}
		faults = append(faults, f)
	}
	return faults, nil
}

// addFaults has faults strike from the beginning, behind those of the description.
func addFaults(a *linefile.Assembly, faults []fault.Fault) error {
	for _, f := range faults {
		if _, err := a.Faults.Add(a.Line.Now(), f); err != nil {
			return usageError{fmt.Errorf("--fault: %w", err)}
		}
	}
	return nil
}

func deviceCount(a *linefile.Assembly) string { return count(len(a.Devices), "device", "devices") }
