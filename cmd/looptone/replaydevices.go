package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"

	"looptone/cmd/looptone/view"
	"looptone/frame/payload"
	"looptone/sim"
	"looptone/sim/live"
	"looptone/sim/replay"
)

type replayDevicesOptions struct {
	wireFlags
	recordingFlags
	pty    string
	listen string
	fast   bool
	json   bool
}

func newReplayDevices() *cobra.Command {
	var o replayDevicesOptions
	cmd := &cobra.Command{
		Use:   "devices FILE...",
		Short: "answer a host as the recorded devices did",
		Long: `Replay devices answers a host, over a pty that it makes, a port, or TCP, until it is
stopped. A request is one of the recording when its address, command and data are the
same, whoever asks and with however many preambles. It gets the recorded answers one
after the other, each after its recorded response time or with --fast as soon as a
device may answer; behind the last they begin again, which is said. Silence is an
answer too. To what was not recorded nobody answers, and that is said with address,
command and data.

A reply is the recorded one, with its preambles where the capture has them and else
with 5; only the bit of the master is that of who asks. Bursts are not sent. It says
what is said on the line, and at the end how much of it was recorded.`,
		Example: "  looptone replay devices trace.txt --pty loop\n  looptone replay devices trace.txt --listen 127.0.0.1:7031 --fast",
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := o.check(cmd, args); err != nil {
				return usageError{err}
			}
			return o.run(cmd.Context(), cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	o.recordingFlags.add(cmd)
	addWays(cmd, &o.wireFlags, &o.pty, &o.listen)
	f := cmd.Flags()
	f.BoolVar(&o.fast, "fast", false, "answer as soon as a device may, whatever the recorded response times")
	f.BoolVar(&o.json, "json", false, "one JSON object a message, and one for what was not recorded")
	return cmd
}

// addWays adds the flags for where a host is.
func addWays(cmd *cobra.Command, w *wireFlags, pty, listen *string) {
	f := cmd.Flags()
	f.StringVar(pty, "pty", "", "make a pty, and a symbolic link `LINK` to it")
	f.StringVar(listen, "listen", "", "wait for TCP clients on `HOST:PORT`")
	f.StringVar(&w.port, "port", "", "serial port or pty `NAME`")
	f.StringVar(&w.tcp, "tcp", "", "raw TCP `HOST:PORT`")
	w.addPort(cmd)
}

func (o *replayDevicesOptions) check(cmd *cobra.Command, files []string) error {
	if err := o.wireFlags.check(cmd); err != nil {
		return err
	}
	if _, real := o.real(); !real && o.pty == "" && o.listen == "" {
		return errors.New("replay devices wants somewhere to be reached at: --pty LINK, --port NAME, --tcp HOST:PORT or --listen HOST:PORT")
	}
	return o.recordingFlags.check(files)
}

func (o *replayDevicesOptions) run(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) error {
	recording, book, err := o.read(ctx, stdin, stdout, stderr)
	if err != nil {
		return err
	}
	signal.Ignore(syscall.SIGPIPE)
	out := newSpool(stdout, func() {}) // who reads along may go
	s := &standIn{replayDevicesOptions: o, recording: recording, book: book, out: out}
	err = s.run(ctx, stderr)
	s.end()
	return cmp.Or(err, out.Close())
}

// A standIn stands in for recorded devices.
type standIn struct {
	*replayDevicesOptions
	recording *replay.Recording
	book      *payload.Book
	out       io.Writer // does not block the line
	counts    view.StoodIn
}

func (s *standIn) run(ctx context.Context, stderr io.Writer) error {
	line := sim.NewLine(0)
	w := &witness{out: s.out, json: s.json}
	w.tracker.Book = s.book
	line.Join(w) // first, so that a request is shown before what is said of it
	devices := replay.NewDevices(s.recording)
	devices.Fast, devices.Tell = s.fast, s.tell
	line.Join(devices)
	runner := live.NewRunner(line)
	ways := ways{wireFlags: &s.wireFlags, pty: s.pty, listen: s.listen, runner: runner, stderr: stderr}
	defer ways.Close()
	if err := ways.open(ctx); err != nil {
		return err
	}
	runner.Run(ctx, func() bool { return ways.lost != nil })
	return ways.lost
}

// tell says what is worth to be told of a request.
func (s *standIn) tell(a *replay.Asked) {
	definition := definitionOf(s.book, a.Request)
	s.counts.Add(a, definition)
	if s.json {
		if object := view.AppendAsked(nil, a, definition); object != nil {
			s.out.Write(append(object, '\n'))
		}
		return
	}
	if text := view.AskedSentence(a, s.recording.Name(a.Request.Address), definition); text != "" {
		fmt.Fprintln(s.out, view.At(a.At)+text)
	}
}

func (s *standIn) end() {
	if s.json {
		s.out.Write(append(s.counts.Append(nil), '\n'))
		return
	}
	io.WriteString(s.out, s.counts.String())
}
