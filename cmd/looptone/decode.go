package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"looptone/frame/payload"
	"looptone/serialio/capture"
)

type decodeOptions struct {
	files    []string
	commands []string
	json     bool
	explain  bool
	csv      bool
	wide     bool
	summary  bool
	findings bool
	strict   bool
	convert  string       // the format to write in place of messages
	tapped   wireTapFlags // what is listened to in place of files
	captureFlags
	filterFlags
	reportFlag
}

func newDecode() *cobra.Command {
	var o decodeOptions
	cmd := &cobra.Command{
		Use:   "decode [FILE...]",
		Short: "captured characters → frames, values, damage",
		Long: `Decode finds frames in captured characters and says what they mean. Without a
FILE, or with -, it reads stdin; several files are read one after the other, or with
--together, when each is a direction of the same line, as one in the order of times. A
capture is raw bytes, or text: hex with or without 0x, commas, offsets and an
ASCII column, frames one a line with or without their preamble; or looptone's own
capture file, which has times and several streams, and tells damage to itself from
damage on the line. What it is is found out from the first 64 KiB, or when the
input ends; with --as, and of a capture file, nothing need be found out, and a
pipe is decoded as it comes.

A CSV of decoded characters or of levels is found by the words of its header, a VCD by
its first word; levels are read as a UART would, so parity and stop bits are seen. With
--columns they are told what means what, by name or number; with --pattern messages are
found in the lines of a log. The head of a CSV is looked for in the first 64 KiB, so a
pipe has to bring those first.

A waveform, of any level, is heard as a modem would: a WAV file, which is decoded as it
comes, or a CSV of times and volts as an oscilloscope writes it, or with --rate of
samples alone. It takes 8000 samples a second or more. Places are samples, from 0.

With --findings it shows, in place of the messages, what the hosts kept and what
they broke: preambles, pauses, turns, time-outs, retries and what requests consist
of, rule by rule, with the first places and the source of the rule. What the capture
does not show is in doubt or cannot be seen, never kept: turns want times; too few
preambles, damage, and the moment at which a request began are a host's own only
where the capture says via=wire or via=pipe, for a modem may have swallowed the first
characters. With --json it is one object a rule and host; with --strict a broken rule
is exit code 3, as damage is.

With --convert it writes what the input holds in another format: looptone's own capture
file, raw bytes, hex text, CSV with a row a character, or pcapng with the events of a
serial line. Times, marks and streams stay in the first and the last two; what a format
has no room for is said.

With --report it also writes a page that needs no network: a summary, lanes over time,
devices, values, response times, damage with its bytes, statuses, and the messages, to be
filtered there; of a long capture the first, the latest and those that went wrong, and
all of them counted. With --findings the page has those too.

With --port, --tcp or --rfc2217 it listens at a port, sends nothing, records nothing, and
shows what it hears as it comes, until it is stopped.`,
		Example: "  looptone decode trace.txt\n  looptone decode --summary trace.bin\n  looptone decode loop.wav\n  echo 'ff ff 02 80 01 00 83' | looptone decode --explain",
		RunE: func(cmd *cobra.Command, args []string) error {
			o.files = args
			if err := cmp.Or(o.check(), o.checkTap(cmd), o.reportFlag.check(cmd)); err != nil {
				return usageError{err}
			}
			if _, live := o.tapped.real(); live {
				return o.decodePort(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr())
			}
			if o.convert != "" {
				return o.runConvert(cmd.Context(), cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr())
			}
			return o.run(cmd.Context(), cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringArrayVar(&o.commands, "commands", nil, "definitions of device-specific commands in `FILE.toml` (repeatable)")
	f.BoolVar(&o.json, "json", false, "one JSON object a line")
	f.BoolVar(&o.explain, "explain", false, "take every message apart, byte by byte")
	f.BoolVar(&o.csv, "csv", false, "the values of replies, one a row: time,device,variable,value,unit")
	f.BoolVar(&o.wide, "wide", false, "with --csv: one column a variable; reads files twice")
	f.BoolVar(&o.summary, "summary", false, "counts only: devices, commands, errors, response times, writes")
	f.BoolVar(&o.findings, "findings", false, "what the hosts kept and broke, in place of the messages")
	f.BoolVar(&o.strict, "strict", false, "exit code 3 when anything is damaged, noise or unanswered, or a file is damaged; with --findings also when a rule was broken")
	f.StringVar(&o.convert, "convert", "", "write everything to stdout in another `FORMAT`, in place of messages: capture, raw, hex, csv or pcapng")
	o.captureFlags.add(cmd)
	o.captureFlags.addRate(cmd)
	o.filterFlags.add(cmd)
	o.tapped.add(cmd)
	o.reportFlag.add(cmd, "the messages")
	choices(cmd, "convert", capture.Exports()...)
	return cmd
}

func (o *decodeOptions) check() error {
	views := 0
	for _, chosen := range [...]bool{o.json, o.explain, o.csv, o.summary} {
		if chosen {
			views++
		}
	}
	switch {
	case views > 1:
		return errors.New("decode takes one of --json, --explain, --csv and --summary")
	case o.findings && (o.explain || o.csv || o.summary):
		return errors.New("--findings goes alone or with --json, not with --explain, --csv or --summary")
	case o.findings && o.filterFlags.any():
		return errors.New("--findings judges a conversation as a whole: leave out what chooses messages")
	case o.report != "" && o.convert != "":
		return errors.New("--report goes with messages, not with --convert")
	case o.wide && !o.csv:
		return errors.New("--wide goes with --csv")
	case o.wide && (len(o.files) == 0 || slices.Contains(o.files, "-")):
		return errors.New("--wide reads its input twice: give files, not stdin")
	}
	return cmp.Or(o.captureFlags.check(o.files), o.filterFlags.check(), o.checkConvert())
}

func (o *decodeOptions) run(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) error {
	if len(o.files) == 0 {
		o.files = []string{"-"}
	}
	book, err := readCommands(o.commands)
	if err != nil {
		return err
	}
	if err := checkFiles(o.files, o.wide); err != nil {
		return err
	}
	file, err := o.create(append(o.commands[:len(o.commands):len(o.commands)], o.files...)...)
	if err != nil {
		return err
	}
	defer file.Close()
	out := newBackground(stdout)
	in := inputs{ctx: ctx, stdin: newPatient(ctx, stdin, func() { out.Flush() }), stdout: stdout, stderr: stderr, options: o.options, together: o.together, started: o.start}
	first, second := o.printer(out)
	shown, traffic := o.reported(first)
	if traffic != nil {
		in.noted = traffic.Note
	}
	d := o.decoding(in, book)
	err = d.decode(o.files, shown)
	if err == nil && second != nil {
		err = o.decoding(in.quiet(), book).decode(o.files, second)
	}
	if err = cmp.Or(err, o.unread(out.Close()), o.filtered(d)); err != nil {
		return err
	}
	if file != nil && d.frames+d.shown > 0 {
		err = file.Save(traffic)
	}
	return cmp.Or(err, o.verdict(d, first, stderr))
}

func (o *decodeOptions) decoding(in inputs, book *payload.Book) *decoding {
	d := &decoding{in: in, filter: o.filterFlags}
	d.tracker.Book, d.tracker.Unread = book, o.summary && o.report == ""
	return d
}

// verdict is what the whole run ends with.
func (o *decodeOptions) verdict(d *decoding, p printer, stderr io.Writer) error {
	judged, _ := p.(*findingsPrinter)
	if d.shown == 0 && d.frames > 0 {
		fmt.Fprintln(stderr, "no message passes the filter")
	}
	switch {
	case d.frames == 0:
		return errors.New("no frame in the input")
	case o.strict && (d.trouble > 0 || judged != nil && judged.judge.Broken()):
		return errNotInOrder
	}
	return nil
}

// filtered refuses a filter by times where the input has none of them.
func (o *decodeOptions) filtered(d *decoding) error {
	switch {
	case d.frames == 0:
		return nil // which is said of it
	case (o.from != "" || o.to != "" || o.started != "") && !d.timed:
		return errors.New("--from, --to and --started go by times, and the input has none")
	case o.filterFlags.needsClock() && !d.clocked:
		return errors.New("the input does not tell its wall clock: --from and --to want seconds, or --started beside them")
	}
	return nil
}
