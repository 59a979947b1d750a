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

	"looptone/serialio"
	"looptone/sim/replay"
)

type replayRawOptions struct {
	wireFlags
	captureFlags
	files  []string
	pty    string
	listen string
	speed  float64
	stream int
	delay  spanFlag
	yes    bool
	wav    waveFlags
	tones  tonesFlag
}

func newReplayRaw() *cobra.Command {
	o := replayRawOptions{delay: spanFlag{least: time.Millisecond, most: time.Hour}}
	cmd := &cobra.Command{
		Use:   "raw FILE...",
		Short: "send the recorded characters, with the pauses between them",
		Long: `Replay raw sends the characters of a capture as they are, whoever said them, once, and
listens to nobody. The pauses between them are those of the recording, --speed times
shorter; a character lasts as long as ever. Where the capture has no times, messages
follow each other with hold, 2 characters, between them. Of a capture with several
streams, --stream chooses one.

A character that was recorded with a wrong parity or stop bit is sent with the right
one, which is said. With --listen the first client gets everything. On a pty it begins
at once, and what was sent before somebody opened it is lost: --delay leaves time.

Requests may be among the characters, and devices that hear them may carry them out:
onto a port or over TCP they are sent only behind a question, which --yes answers.

--wav writes all that as a waveform instead, in volts: tones of 1200 and 2200 Hz, and
no carrier where nothing follows for 2 characters. It has the wrong parity and stop
bits of the recording, and of several streams all, one after the other in time.
` + tonesHelp + `

` + waveCaution,
		Example: "  looptone replay raw trace.bin --listen 127.0.0.1:7031\n  looptone replay raw trace.txt --stream 1 --speed 2 --pty loop --delay 3s\n  looptone replay raw trace.txt --wav trace.wav --tones \"rc_us=65, ebn0_db=14\" --seed 7",
		RunE: func(cmd *cobra.Command, args []string) error {
			o.files = args
			if err := o.check(cmd); err != nil {
				return usageError{err}
			}
			return o.run(cmd.Context(), cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	o.captureFlags.add(cmd)
	addWays(cmd, &o.wireFlags, &o.pty, &o.listen)
	f := cmd.Flags()
	f.Float64Var(&o.speed, "speed", 1, "pauses so many times shorter, 0.01 to 1000")
	f.IntVar(&o.stream, "stream", -1, "the stream `N` of the capture, from 0")
	f.Var(&o.delay, "delay", "begin `DURATION` after it can be reached")
	f.BoolVar(&o.yes, "yes", false, "send without asking")
	o.wav.add(cmd, "the characters as a waveform", usualToneScale)
	o.tones.add(cmd)
	return cmd
}

func (o *replayRawOptions) check(cmd *cobra.Command) error {
	if err := o.wireFlags.check(cmd); err != nil {
		return err
	}
	if err := cmp.Or(o.wav.check(cmd), o.tones.check(cmd, o.wav.file != "")); err != nil {
		return err
	}
	given := 0
	for _, way := range [...]string{o.pty, o.port, o.tcp, o.listen, o.wav.file} {
		if way != "" {
			given++
		}
	}
	_, real := o.real()
	switch {
	case given != 1:
		return fmt.Errorf("replay raw wants one way, got %d: --pty LINK, --port NAME, --tcp HOST:PORT, --listen HOST:PORT or --wav FILE", given)
	case o.wav.file != "" && cmd.Flags().Changed("delay"):
		return errors.New("--delay waits for who listens, and nobody does to --wav: leave it out")
	case !(o.speed >= 0.01 && o.speed <= 1000):
		return fmt.Errorf("--speed %v is out of range, want 0.01 to 1000", o.speed)
	case cmd.Flags().Changed("stream") && (o.stream < 0 || o.stream > 255):
		return fmt.Errorf("--stream %d is out of range, want 0 to 255", o.stream)
	case o.together:
		return errors.New("replay raw sends what one file holds after the other: leave out --together")
	case real && !o.yes && slices.Contains(o.files, "-"):
		return errQuestionOnStdin
	}
	return checkCaptures(o.files, &o.captureFlags)
}

func (o *replayRawOptions) run(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) error {
	if err := checkFiles(o.files, false); err != nil {
		return err
	}
	out, err := o.sink(ctx, stdin, stderr)
	if err != nil {
		return err
	}
	in := inputs{ctx: ctx, stdin: newPatient(ctx, stdin, func() {}), stdout: stdout, stderr: stderr, options: o.options, together: o.together}
	r := &rawReplay{replayRawOptions: o, in: in, source: replay.NewSource(o.speed), out: out}
	err = r.run()
	if err = cmp.Or(err, out.close(stderr)); err != nil {
		return err
	}
	return r.report(stderr)
}

// A rawSink takes what is replayed.
type rawSink interface {
	push(p replay.Piece) error
	flush() error                 // behind the last piece
	sent() int                    // characters
	close(stderr io.Writer) error // and tell what became of it
	marks() bool                  // wrong parity and stop bits come out as such
}

// sink is where the characters go.
func (o *replayRawOptions) sink(ctx context.Context, stdin io.Reader, stderr io.Writer) (rawSink, error) {
	if o.wav.file == "" {
		out := &rawSender{ctx: ctx, pace: o.pace()}
		out.reach = func() (*serialio.Port, error) { return o.begin(ctx, stdin, stderr) }
		return out, nil
	}
	for _, file := range o.files {
		if err := refuseSameFile("--wav", o.wav.file, "a FILE to replay", file); err != nil {
			return nil, err
		}
	}
	t, err := o.tones.read(o.wav.rate)
	if err != nil {
		return nil, usageError{err}
	}
	return &rawWave{ctx: ctx, flags: &o.wav, tones: t}, nil
}

// begin gets everything ready for the first character.
func (o *replayRawOptions) begin(ctx context.Context, stdin io.Reader, stderr io.Writer) (*serialio.Port, error) {
	if _, real := o.real(); real {
		fmt.Fprintln(stderr, writeCaution)
		if err := confirm(o.yes, "send what the capture holds?", stdin, stderr); err != nil {
			return nil, err
		}
	}
	p, err := o.reach(ctx, stderr)
	if err != nil {
		return nil, err
	}
	select {
	case <-time.After(o.delay.span):
		return p, nil
	case <-ctx.Done():
		p.Close()
		return nil, errInterrupted
	}
}

// reach opens the way to whoever is to hear it.
func (o *replayRawOptions) reach(ctx context.Context, stderr io.Writer) (*serialio.Port, error) {
	switch {
	case o.pty != "":
		p, err := serialio.NewPTY(o.pty)
		if err == nil {
			fmt.Fprintf(stderr, "pty at %s\n", o.pty)
		}
		return p, err
	case o.listen == "":
		return o.wireFlags.open(ctx, stderr)
	}
	l, err := serialio.Listen(o.listen)
	if err != nil {
		return nil, err
	}
	defer l.Close()
	defer context.AfterFunc(ctx, func() { l.Close() })()
	fmt.Fprintf(stderr, "listening on %s\n", l.Addr())
	p, err := l.Accept()
	if ctx.Err() != nil {
		return nil, errInterrupted
	}
	return p, err
}

// pace is how long characters take at the port.
func (o *replayRawOptions) pace() serialio.Settings {
	if o.port == "" {
		return serialio.Settings{}
	}
	s, _ := o.settings() // the port was opened by them
	return s
}
