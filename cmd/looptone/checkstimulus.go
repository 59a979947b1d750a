package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"looptone/cmd/looptone/view"
	"looptone/serialio/capture"
	"looptone/serialio/modemcheck/stimulus"
)

const stimulusHelp = `

With --stimulus DIR it opens no port. It makes waveforms for the receiver of a modem
in DIR, a folder that is new or empty: WAV files of one channel and 16 bits, to be
played by a sound card or a signal generator whose level is set once, by the
calibration tone; and manifest.json, which tells what they are. Clean
ones, levels from 70 to 800 mV peak to peak, clock and tones 1 % off, noise, mains hum,
gaps, carriers of which nothing comes, few preambles and many, trapezoids, a cable, a
second talker. The same --seed makes the same files.

The manifest is one object:
  format, seed, rate, full_scale_v, cautions
  calibration    file, does, level_mv (peak to peak), seconds
  waveforms      a list, in the order of playing, of objects with name, file, does,
                 level_mv, seconds, must (what a modem has to do), source (where that is
                 published, or common practice), limits (names; none where either is
                 right), messages (at, level_mv, around, bytes: seconds to the first
                 start bit; whether it stands beside what is tested; hex) and tones (at,
                 for: carriers without characters, in seconds)

With --stimulus DIR --score CAPTURE... it scores what the modem put out while they
were played, in any format that decode reads: one CAPTURE of all, played in the order
of their numbers with any pauses between; one of each, in that order; or some with the
names of waveforms, for instance level-90.txt. Messages are found by their values, so
no times are needed; carrier limits need a capture that tells of carriers.

With --score and --json it writes objects, one a line:
  the test       test, seed, in_order, waveforms
  each waveform  waveform, does, level_mv, must, source, verdict; characters, extra,
                 messages, swallowed, parity_errors and framing_errors as above;
                 carriers (sent, detected, reported), around (sent, whole); null where
                 there is no capture of it
  each verdict   waveform, limit, verdict, got, want, unit, wanted, says, source
The verdict of a waveform is "no limit" where either is right.`

// stimulusFlags choose waveforms in place of a port.
type stimulusFlags struct {
	folder    string
	score     bool
	rate      int
	fullScale float64
	stream    int
	files     []string
	captureFlags
}

func (s *stimulusFlags) add(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&s.folder, "stimulus", "", "make waveforms for the receiver of a modem in the folder `DIR`")
	f.BoolVar(&s.score, "score", false, "score the CAPTUREs of what a modem made of the waveforms in --stimulus")
	f.IntVar(&s.rate, "rate", stimulus.DefaultRate, "samples a second of the waveforms")
	f.Float64Var(&s.fullScale, "full-scale", stimulus.DefaultFullScale, "`VOLTS` at the modem that full scale of the waveforms stands for")
	f.IntVar(&s.stream, "stream", -1, "the stream `N` of a CAPTURE, from 0")
	s.captureFlags.add(cmd)
	if err := cmd.MarkFlagDirname("stimulus"); err != nil {
		panic(err) // the flag was just defined
	}
}

// makingFlags are those of making waveforms.
var makingFlags = [...]string{"rate", "full-scale", "seed"}

// scoringFlags are those of reading captures; --rate is of what is made.
func scoringFlags() []string {
	files := slices.DeleteFunc(slices.Clone(fileFlags[:]), func(name string) bool { return name == "rate" })
	return append(files, "stream")
}

// wants reports whether it is about waveforms.
func (s *stimulusFlags) wants(cmd *cobra.Command) bool { return cmd.Flags().Changed("stimulus") }

// refuseAlone refuses flags that only waveforms have.
func (s *stimulusFlags) refuseAlone(cmd *cobra.Command) error {
	for _, name := range slices.Concat([]string{"score", "rate", "full-scale"}, scoringFlags()) {
		if cmd.Flags().Changed(name) {
			return fmt.Errorf("--%s goes with --stimulus DIR", name)
		}
	}
	return nil
}

func (s *stimulusFlags) check(cmd *cobra.Command) error {
	if err := checkNotEmpty(cmd, "stimulus"); err != nil {
		return err
	}
	for _, name := range [...]string{"port", "tcp", "rfc2217", "second", "second-tcp", "loopback", "line", "demo", "messages", "yes", "echo", "baud", "parity", "rts", "rts-hold", "dtr", "invert", "carrier"} {
		if cmd.Flags().Changed(name) {
			return fmt.Errorf("--stimulus opens no port: leave out --%s", name)
		}
	}
	if s.score {
		return s.checkScore(cmd)
	}
	for _, name := range append(scoringFlags(), "json") {
		if cmd.Flags().Changed(name) {
			return fmt.Errorf("--%s goes with --score", name)
		}
	}
	switch {
	case s.rate < stimulus.LeastRate || s.rate > stimulus.MostRate:
		return fmt.Errorf("--rate %d is out of range, want %.0f to %d samples a second", s.rate, stimulus.LeastRate, stimulus.MostRate)
	case !(s.fullScale > 0) || s.fullScale > mostFullScale:
		return fmt.Errorf("--full-scale %g is out of range, want more than 0 and at most %d volts", s.fullScale, mostFullScale)
	}
	return nil
}

// mostFullScale still leaves a few hundred steps of 16 bits to the lowest level.
const mostFullScale = 10 // volts

func (s *stimulusFlags) checkScore(cmd *cobra.Command) error {
	for _, name := range makingFlags {
		if cmd.Flags().Changed(name) {
			return fmt.Errorf("--%s stands in the manifest that is scored by: leave it out", name)
		}
	}
	switch {
	case len(s.files) == 0:
		return errors.New("--score wants what the modem put out: a CAPTURE, or one of each waveform, or - for stdin")
	case s.together:
		return errors.New("--score takes captures of one modem, one behind the other: leave out --together")
	case cmd.Flags().Changed("stream") && (s.stream < 0 || s.stream > 255):
		return fmt.Errorf("--stream %d is out of range, want 0 to 255", s.stream)
	}
	return checkCaptures(s.files, &s.captureFlags)
}

// checkArgs takes captures to be scored, and nothing else.
func (s *stimulusFlags) checkArgs(cmd *cobra.Command, args []string) error {
	if s.score {
		return nil
	}
	return noArgs(cmd, args)
}

// runStimulus makes waveforms, or scores what came of them.
func (o *checkModemOptions) runStimulus(cmd *cobra.Command) error {
	if err := o.stimulusFlags.check(cmd); err != nil {
		return usageError{err}
	}
	if o.score {
		return o.scored(cmd.Context(), o.json, cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr())
	}
	return o.stimulusFlags.make(cmd.Context(), o.number(), cmd.OutOrStdout(), cmd.ErrOrStderr())
}

// make makes a set.
func (s *stimulusFlags) make(ctx context.Context, seed uint64, stdout, stderr io.Writer) error {
	set, err := stimulus.New(seed, s.rate, s.fullScale)
	if err != nil {
		return usageError{err}
	}
	for _, c := range set.Cautions {
		fmt.Fprint(stderr, view.Paragraph(0, 2, "caution: "+c))
	}
	err = set.Write(ctx, s.folder)
	switch {
	case ctx.Err() != nil:
		return errInterrupted
	case err != nil:
		return err
	}
	_, err = io.WriteString(stdout, view.StimulusMade(set, s.folder))
	return err
}

// scored scores what a modem put out.
func (s *stimulusFlags) scored(ctx context.Context, json bool, stdin io.Reader, stdout, stderr io.Writer) error {
	set, err := stimulus.Read(s.folder)
	if err != nil {
		return err
	}
	if err := checkFiles(s.files, false); err != nil {
		return err
	}
	in := inputs{ctx: ctx, stdin: newPatient(ctx, stdin, func() {}), stdout: stdout, stderr: stderr, options: s.options}
	var heard []*stimulus.Heard
	for _, name := range s.files {
		h, err := s.hear(&in, name)
		if err != nil {
			return err
		}
		heard = append(heard, h)
	}
	r, err := set.Score(heard)
	if err != nil {
		return err
	}
	said := []byte(view.Stimulus(r))
	if json {
		said = view.AppendStimulus(nil, r)
	}
	if _, err := stdout.Write(said); err != nil {
		return err
	}
	if !r.OK() {
		return errNotInOrder
	}
	return nil
}

// hear reads one capture. One that is empty is of a modem that has heard nothing.
func (s *stimulusFlags) hear(in *inputs, name string) (*stimulus.Heard, error) {
	h := &stimulus.Heard{Name: name}
	r, err := in.openFile(name)
	switch {
	case errors.Is(err, capture.ErrEmpty):
		fmt.Fprintf(in.stderr, "%v: nothing was heard\n", err)
		return h, nil
	case err != nil:
		return nil, err
	}
	defer r.Close()
	damage := damageReport{to: r.told, name: r.name}
	var record capture.Record
	for {
		switch err := r.Next(&record); {
		case in.ctx.Err() != nil:
			return nil, errInterrupted
		case err == io.EOF:
			r.Close() // and with it the progress, so that what is told now stays
			damage.to = in.stderr
			damage.end()
			in.tell(r)
			return h, nil
		case err != nil:
			return nil, err
		}
		damage.add(&record)
		switch {
		case s.stream < 0 && record.Streams > 1:
			return nil, usagef("%s has %d streams: choose the modem's with --stream", r.name, record.Streams)
		case s.stream < 0 || int(record.Stream) == s.stream:
			h.Take(&record)
		}
	}
}
