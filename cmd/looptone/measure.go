package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"looptone/cmd/looptone/report"
	"looptone/cmd/looptone/view"
	"looptone/serialio/capture"
	"looptone/serialio/fsk/measure"
	"looptone/serialio/wave"
)

// Caution where somebody measures at a loop. Source: common practice.
const measuringCaution = `caution: an instrument that is earthed through the mains can close an earth loop where it
  is clipped on: use isolated equipment, or its battery. Hazardous-area rules come first.`

type measureOptions struct {
	files []string
	measure.Options
	wave wave.Options
	svg  string
	json bool
	reportFlag
	measured []report.Waveform // of the report, if one is wanted
}

func newMeasure() *cobra.Command {
	var o measureOptions
	cmd := &cobra.Command{
		Use:   "measure FILE...",
		Short: "a recorded waveform against the limits of the standard",
		Long: `Measure reads a waveform, WAV or CSV, finds the characters in it, and measures the
signal that carries them: mark and space frequency, bit rate, amplitude of both tones,
what lies under them, the phase where the tone changes, how far the edges of bits are
from where they should be, when carriers go on and off, preambles, gaps, response times,
and the noise in the pass band and beside it. Every limit comes out as kept, broken, or
not measurable; what the waveform does not show is never kept. Limits and their sources
stand in the report. With - it reads stdin; several files are measured one by one. What
is packed with gzip or zstd is unpacked.

A sample of a WAV file is a part of full scale, and what that is in volts the file does
not tell: --volts-per-unit does. Without it, what takes volts is not measurable. A CSV is
taken to hold volts, or mV, µV, mA or µA if it names them; for anything else
--volts-per-unit says what a 1 in it is. With --ohms, the resistance that the loop current
makes the voltage across, currents are told too; the signal current is judged on carriers
on which only devices talk. Amplitudes are those of a tone's fundamental, from peak to
peak: more than the signal spans where that is clipped or has corners.

What can be told depends on the samples: a jump of the phase only beyond half a sample
and beyond the noise, the moment at which a carrier goes on to a tenth of a bit, its rise
to half a bit, noise above 10 kHz only of more than 20,000 samples a second. Beyond 96,000
samples a second, means are taken, so what is above 24 kHz is seen in part.

With --svg it also draws the eye, what was measured, and the signal around a start bit.
With "--svg -" the picture is on stdout, and the text on stderr.

With --report it also writes a page that opens in any browser without a network: every
limit as kept, broken or not measurable, with what was got and what is allowed, what was
measured, and the picture of each waveform.

With --json it writes objects, one a line:
  the waveform   waveform (its name), in_order, seconds, rate, volts_per_unit, ohms,
                 carriers, characters, parity_errors, framing_errors,
                 doubtful_characters, whole_messages, damaged_messages, other_characters,
                 gaps, longest_gap_bits, late_replies
  each quantity  quantity, unit, mean, deviation, least, most, times
  the edges      edges (how many), rms_off_percent, most_off_percent (of a bit),
                 jump_rms_degrees, largest_jump_degrees, resolution_degrees
  each noise     noise (its frequencies), unit, silent, talking (rms)
  the eye        eye (how far it is open, 1 is all), bits, reach, counts (rows from -reach
                 to reach, columns over two bits around the middle of a bit)
  each verdict   limit, verdict, got, least, most, unit, wanted, says, source
What is not known is null.

Cautions for whoever records at a loop: hazardous-area rules come first; in a classified
area nothing is clipped on unless the area classification, the certificates of barrier and
devices, and the permit allow it. Switch the supply off before the loop is opened, and put
the control loop in manual before that. An oscilloscope or a laptop that is earthed
through the mains can close an earth loop: use isolated equipment, or run it from its
battery. The site's permit, local codes and licensed practice decide.

The exit code is 3 when a limit is broken, and 1 when there is no character.`,
		Example: `  looptone measure bench.wav --volts-per-unit 5 --ohms 250
  looptone measure scope.csv --svg scope.svg
  looptone measure bench.wav --json`,
		ValidArgsFunction: cobra.FixedCompletions([]string{"wav", "csv"}, cobra.ShellCompDirectiveFilterFileExt),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.files = args
			if err := cmp.Or(o.check(cmd), o.reportFlag.check(cmd)); err != nil {
				return usageError{err}
			}
			return o.run(cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.Float64Var(&o.VoltsPerUnit, "volts-per-unit", 0, "`VOLTS` that a sample of 1 stands for, of a WAV file full scale")
	f.Float64Var(&o.Ohms, "ohms", 0, "`OHMS` that the loop current makes the voltage across")
	f.Float64Var(&o.wave.Rate, "rate", 0, "of a CSV without times: samples `PER SECOND`")
	f.IntVar(&o.wave.Channel, "channel", 0, "of WAV: take channel `NUMBER`, from 1 (default: the first)")
	f.StringVar(&o.wave.Columns, "columns", "", "of a CSV: what columns mean, `WORD=COLUMN,...`, for instance time=1,volts=CH2")
	f.StringVar(&o.svg, "svg", "", "draw the eye and the signal in `FILE`; - is stdout")
	if err := cmd.MarkFlagFilename("svg", "svg"); err != nil {
		panic(err) // the flag was just defined
	}
	o.reportFlag.add(cmd, "what was measured")
	f.BoolVar(&o.json, "json", false, "JSON objects: the waveform, each quantity, edges, noise, eye, each verdict")
	return cmd
}

func (o *measureOptions) check(cmd *cobra.Command) error {
	changed := cmd.Flags().Changed
	switch {
	case len(o.files) == 0:
		return errors.New("measure wants a waveform: a FILE, or - for stdin")
	case o.svg != "" && len(o.files) > 1:
		return fmt.Errorf("--svg draws one waveform, got %d files", len(o.files))
	case o.svg != "" && o.svg == o.report:
		return fmt.Errorf("%s cannot be both the picture and the report", o.svg)
	case o.json && o.svg == "-":
		return errors.New("measure has one stdout: --json or --svg -, not both")
	case changed("volts-per-unit") && !isPositive(o.VoltsPerUnit):
		return fmt.Errorf("--volts-per-unit %v is out of range, want more than 0", o.VoltsPerUnit)
	case changed("ohms") && !isPositive(o.Ohms):
		return fmt.Errorf("--ohms %v is out of range, want more than 0", o.Ohms)
	case changed("channel") && o.wave.Channel < 1:
		return fmt.Errorf("--channel %d is out of range, want 1 or more", o.wave.Channel)
	}
	return checkNotEmpty(cmd, "svg", "columns")
}

func isPositive(x float64) bool { return x > 0 && x <= 1e9 }

func (o *measureOptions) run(stdin io.Reader, stdout, stderr io.Writer) error {
	if err := checkFiles(o.files, false); err != nil {
		return err
	}
	if err := refuseSameFile("--svg", o.svg, "the waveform", o.files[0]); err != nil {
		return err
	}
	page, err := o.create(o.files...)
	if err != nil {
		return err
	}
	defer page.Close()
	fmt.Fprintln(stderr, measuringCaution)
	inOrder := true
	for _, name := range o.files {
		ok, err := o.measure(name, stdin, stdout, stderr)
		if err != nil {
			return err
		}
		inOrder = inOrder && ok
	}
	if page != nil {
		if err := page.Save(report.Waveforms(o.source(), o.measured)); err != nil {
			return err
		}
	}
	if !inOrder {
		return errNotInOrder
	}
	return nil
}

// measure measures one file, and reports whether it is in order.
func (o *measureOptions) measure(name string, stdin io.Reader, stdout, stderr io.Writer) (inOrder bool, err error) {
	file := io.NopCloser(stdin)
	if name == "-" {
		name = "stdin"
	} else if file, err = os.Open(name); err != nil {
		return false, err
	}
	defer file.Close()
	r, err := o.read(file, name, stderr)
	if err != nil {
		return false, err
	}
	if err := o.unread(o.draw(name, r, stdout)); err != nil {
		return false, err
	}
	if o.report != "" {
		o.measured = append(o.measured, report.Waveform{Name: name, Report: r})
	}
	said := []byte(view.Waveform(name, r))
	switch {
	case o.json:
		said = view.AppendWaveform(nil, name, r)
	case o.svg == "-":
		stdout = stderr
	}
	_, err = stdout.Write(said)
	return r.OK(), o.unread(err)
}

// source says what a report is of.
func (o *measureOptions) source() report.Source {
	return report.Source{Title: "Waveforms measured: " + shortList(o.files), Cautions: view.Cautions}
}

func (o *measureOptions) read(file io.Reader, name string, stderr io.Writer) (*measure.Report, error) {
	plain, packing, err := capture.Unpack(file, name, capture.MostRead)
	if err != nil {
		return nil, err
	}
	samples, err := wave.Open(plain, name, o.wave)
	if err != nil {
		return nil, err
	}
	what := samples.What()
	if packing != "" {
		what = packing + " of " + what
	}
	scale := o.Options
	switch {
	case scale.VoltsPerUnit != 0 || !strings.HasPrefix(samples.What(), "CSV"):
	case !samples.Amperes():
		scale.VoltsPerUnit = 1
		what += ", taken for volts"
	case scale.Ohms > 0:
		scale.VoltsPerUnit = scale.Ohms
		what += fmt.Sprintf(", currents through %g ohm", scale.Ohms)
	default:
		what += ", currents: --ohms says what voltage they make"
	}
	fmt.Fprintf(stderr, "%s: %s\n", name, what)
	if scale.VoltsPerUnit == 0 && scale.Ohms > 0 {
		return nil, usagef("%s: --ohms wants to know what a sample is in volts: --volts-per-unit VOLTS", name)
	}
	r, err := measure.Measure(samples, scale)
	for line := range strings.Lines(samples.Told()) {
		fmt.Fprintf(stderr, "%s: %s\n", name, strings.TrimSuffix(line, "\n"))
	}
	var nothing *measure.Nothing
	if errors.As(err, &nothing) {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return r, err
}

// draw writes the picture, if one is wanted.
func (o *measureOptions) draw(name string, r *measure.Report, stdout io.Writer) error {
	if o.svg == "" {
		return nil
	}
	return writePicture(o.svg, view.AppendWaveformPicture(nil, name, r), stdout)
}
