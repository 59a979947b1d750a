package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"looptone/cmd/looptone/report"
	"looptone/cmd/looptone/view"
	"looptone/serialio"
	"looptone/serialio/modemcheck"
)

// Caution before test messages are sent. Source: common practice.
const testCaution = `caution: this puts test messages on whatever the modem is connected to, for as long
  as it says. Do it on a bench; a loop that drives a process would be disturbed, and
  whoever talks there held up. Follow the site's permit, the area classification,
  local codes and licensed practice.`

// How many messages a test may have. The usual ones take about a minute.
const (
	usualMessages = 40
	mostMessages  = 5000
)

type checkModemOptions struct {
	wireFlags
	second, secondTCP string
	loopback          bool
	answering         string // line file
	demo              bool
	messages          int
	seed              seedFlag
	yes, json         bool
	stimulusFlags
	reportFlag
}

func newCheckModem() *cobra.Command {
	var o checkModemOptions
	cmd := &cobra.Command{
		Use:   "check-modem",
		Short: "test messages through one modem looped back, or through two; waveforms for one",
		Long: `Check-modem sends messages through a modem and compares what comes out with what
went in, character by character and moment by moment. There are three hook-ups:

  --port A --loopback            one port, and what it sends comes back
  --port A --second B            two ports with a modem each; now A sends, now B
  --port A --second B --line F   A asks, and the line that F describes answers behind B;
                                 with --demo instead of --line the demonstration line

The messages follow from --seed: all lengths from 0 to 255 data bytes, 5 to 20
preambles, all values of a byte, back to back and spaced. They are requests that no
device answers, but for the third hook-up, where they ask who a device is.

It counts characters and messages that were lost, wrong or extra, preambles that were
swallowed, silences within messages, and how late messages are heard; parity errors
where the port shows them, carriers where --carrier names the line that tells. Every
limit comes out as kept, broken, or not measurable with this hook-up; what was not
seen is never kept. Limits and their sources stand in the report.

What a port tells late is not the modem's fault: 16 ms are allowed for, so gaps of
less than three characters do not show in the last characters of a message. What
comes later than a second counts as lost, and as extra when it comes.

With --report it also writes a page that opens in any browser without a network: every
limit as kept, broken or not measurable, with what was got and what is allowed.

With --json it writes objects, one a line:
  the test      test (the hook-up), seed, in_order, took
  each way      from, to, characters (sent, values, heard, lost, wrong, extra), extra
                (before, behind, between, within, silence), messages (sent, whole,
                damaged, lost, apart, joined), swallowed (preambles, messages, most),
                parity_errors, framing_errors, gaps, longest_gap, late, least_delay,
                most_delay
  each verdict  limit, from, to, verdict, got, want, unit, wanted, says, source
Times are in seconds, those of verdicts in their unit; what is not known is null.

The exit code is 3 when a limit is broken.` + stimulusHelp,
		Example: `  looptone check-modem --port /dev/ttyUSB0 --loopback
  looptone check-modem --port /dev/ttyUSB0 --second /dev/ttyUSB1 --messages 200
  looptone check-modem --port /dev/ttyUSB0 --second /dev/ttyUSB1 --demo --json
  looptone check-modem --stimulus waveforms --seed 7
  looptone check-modem --stimulus waveforms --score heard.txt`,
		Args: o.checkArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.files = args
			if err := o.reportFlag.check(cmd); err != nil {
				return usageError{err}
			}
			if o.stimulusFlags.wants(cmd) {
				if o.report != "" {
					return usagef("--report is about a test through ports, not about --stimulus")
				}
				return o.runStimulus(cmd)
			}
			if err := o.check(cmd); err != nil {
				return usageError{err}
			}
			return o.run(cmd.Context(), cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.port, "port", "", "serial port or pty `NAME`, with the modem under test")
	f.StringVar(&o.tcp, "tcp", "", "raw TCP `HOST:PORT`, with the modem under test")
	f.BoolVar(&o.loopback, "loopback", false, "what the port sends comes back to it")
	f.StringVar(&o.second, "second", "", "serial port or pty `NAME` with the second modem; set as the first one is")
	f.StringVar(&o.secondTCP, "second-tcp", "", "raw TCP `HOST:PORT`, with the second modem")
	f.StringVar(&o.answering, "line", "", "the line that `FILE` describes answers behind the second port")
	f.BoolVar(&o.demo, "demo", false, "the built-in demonstration line answers there")
	f.IntVar(&o.messages, "messages", usualMessages, "how many messages")
	o.seed.add(cmd)
	f.BoolVar(&o.yes, "yes", false, "send without asking")
	f.BoolVar(&o.json, "json", false, "JSON objects: the test, each way, each verdict")
	o.addPort(cmd)
	o.stimulusFlags.add(cmd)
	o.reportFlag.add(cmd, "the test")
	if err := cmd.MarkFlagFilename("line", "toml"); err != nil {
		panic(err) // the flag was just defined
	}
	return cmd
}

func (o *checkModemOptions) check(cmd *cobra.Command) error {
	for _, only := range [][]string{{"port", "tcp", "rfc2217"}, {"second", "second-tcp", "loopback"}, {"line", "demo"}} {
		if err := oneAtMost(cmd, only...); err != nil {
			return err
		}
	}
	if err := checkNotEmpty(cmd, "port", "tcp", "rfc2217", "second", "second-tcp", "line"); err != nil {
		return err
	}
	if err := o.refuseAlone(cmd); err != nil {
		return err
	}
	_, first := o.real()
	second := o.second + o.secondTCP
	switch {
	case !first:
		return errors.New("check-modem wants the port of the modem: --port NAME, --tcp HOST:PORT or --rfc2217 HOST:PORT")
	case !o.loopback && second == "":
		return errors.New("check-modem wants to know where what is sent comes out: --loopback, --second NAME or --second-tcp HOST:PORT")
	case o.onLine() && o.loopback:
		return errors.New("a line answers behind a second port: --second NAME or --second-tcp HOST:PORT, and no --loopback")
	case o.echo && o.loopback:
		return errors.New("with --loopback what comes back is what is tested: leave out --echo")
	case second != "" && (second == o.port || second == o.tcp):
		return fmt.Errorf("%s is both ports: want two, or --loopback", second)
	case o.messages < 1 || o.messages > mostMessages:
		return fmt.Errorf("--messages %d is out of range, want 1 to %d", o.messages, mostMessages)
	}
	return o.checkSerial(cmd)
}

// checkSerial refuses settings of serial ports where there is none.
func (o *checkModemOptions) checkSerial(cmd *cobra.Command) error {
	for _, name := range [...]string{"baud", "parity", "rts", "rts-hold", "dtr", "invert", "carrier"} {
		if cmd.Flags().Changed(name) && o.port == "" && o.rfc2217 == "" && o.second == "" {
			return fmt.Errorf("--%s goes with --port, --rfc2217 or --second", name)
		}
	}
	return o.modemFlags.check(cmd)
}

// number is the seed.
func (o *checkModemOptions) number() uint64 {
	if o.seed.value == nil {
		return 1
	}
	return *o.seed.value
}

// onLine reports whether a simulated line answers.
func (o *checkModemOptions) onLine() bool { return o.demo || o.answering != "" }

func (o *checkModemOptions) run(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) error {
	settings, err := o.settings()
	if err != nil {
		return err
	}
	file, err := o.create(o.answering)
	if err != nil {
		return err
	}
	defer file.Close()
	t := modemTest{checkModemOptions: o, character: settings.Characters(1), number: o.number()}
	if err := t.prepare(stderr); err != nil {
		return err
	}
	if err := o.allow(stdin, stderr); err != nil {
		return err
	}
	if err := t.open(ctx, settings); err != nil {
		return err
	}
	defer t.Close()
	r, err := t.run(ctx)
	switch {
	case ctx.Err() != nil:
		return errInterrupted
	case err != nil:
		return err
	}
	said := []byte(view.Modem(r))
	if o.json {
		said = view.AppendModem(nil, r)
	}
	if _, err := stdout.Write(said); o.unread(err) != nil {
		return err
	}
	if file != nil {
		of := report.Source{Title: "Test of a modem at " + o.under(), Cautions: cautionsOf(testCaution)}
		if err := file.Save(report.Modem(of, r)); err != nil {
			return err
		}
	}
	if !r.OK() {
		return errNotInOrder
	}
	return nil
}

// under is the port of the modem under test.
func (o *checkModemOptions) under() string {
	name, _ := o.real()
	return name
}

// allow says what is going to happen where there may be a modem, and asks.
func (o *checkModemOptions) allow(stdin io.Reader, stderr io.Writer) error {
	if o.tcp == "" && o.rfc2217 == "" && o.secondTCP == "" && !serialio.MayKey(o.port) && !serialio.MayKey(o.second) {
		return nil // ptys, behind which there are programs
	}
	fmt.Fprintln(stderr, portCaution)
	fmt.Fprintln(stderr, testCaution)
	return confirm(o.yes, "send the test messages?", stdin, stderr)
}

// timing is what a pair of ports is like.
func (t *modemTest) timing() modemcheck.Timing {
	marks := t.near.SeesParity()
	if t.far != nil {
		marks = marks && t.far.SeesParity()
	}
	return modemcheck.Timing{Character: t.character, Lateness: portLateness, Marks: marks}
}
