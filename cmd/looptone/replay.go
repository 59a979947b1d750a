package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim/replay"
)

func newReplay() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "replay",
		Short: "a capture back onto a line: as its devices, as its master, or as bare characters",
		Long: `Replay has the traffic of another day go on: "replay devices" answers a host as the
recorded devices did, "replay master" asks devices what was asked and compares the
answers, and "replay raw" sends the characters as they were recorded.`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("replay wants devices, master or raw first, got %q", args[0])
			}
			return nil
		},
		RunE: func(*cobra.Command, []string) error { return usagef("replay wants devices, master or raw") },
	}
	cmd.AddCommand(newReplayDevices(), newReplayMaster(), newReplayRaw())
	return cmd
}

// recordingFlags say what is replayed.
type recordingFlags struct {
	files    []string
	commands []string
	captureFlags
}

func (f *recordingFlags) add(cmd *cobra.Command) {
	f.captureFlags.add(cmd)
	f.captureFlags.addRate(cmd)
	cmd.Flags().StringArrayVar(&f.commands, "commands", nil, "definitions of device-specific commands in `FILE.toml` (repeatable)")
}

func (f *recordingFlags) check(files []string) error {
	f.files = files
	return checkCaptures(files, &f.captureFlags)
}

// checkCaptures refuses what cannot be a capture to replay.
func checkCaptures(files []string, flags *captureFlags) error {
	if len(files) == 0 {
		return errors.New("replay wants a capture: a FILE, or - for stdin")
	}
	return flags.check(files)
}

// read reads the recording, and says what it has.
func (f *recordingFlags) read(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) (*replay.Recording, *payload.Book, error) {
	book, err := readCommands(f.commands)
	if err != nil {
		return nil, nil, err
	}
	if err := checkFiles(f.files, false); err != nil {
		return nil, nil, err
	}
	d := &decoding{in: inputs{ctx: ctx, stdin: newPatient(ctx, stdin, func() {}), stdout: stdout, stderr: stderr, options: f.options, together: f.together},
		filter: filterFlags{command: -1}} // all commands
	d.tracker.Book = book
	var r recorded
	if err := d.decode(f.files, &r); err != nil {
		return nil, nil, err
	}
	if len(r.Transactions) == 0 {
		return nil, nil, fmt.Errorf("no request in %s: there is nothing to replay", strings.Join(f.files, " and "))
	}
	fmt.Fprintln(stderr, view.RecordingSentence(&r.Recording))
	return &r.Recording, book, nil
}

// recorded keeps what a capture tells, in place of printing it.
type recorded struct{ replay.Recording }

func (r *recorded) message(m *heardMessage) { r.Add(&m.Message) }
func (r *recorded) gap(*gap, int)           {}
func (r *recorded) end() error              { return nil }

// definitionOf is what is known of the command of a request; nil for nothing.
func definitionOf(book *payload.Book, f *frame.Frame) *payload.Definition {
	d, _ := book.Lookup(f.Number(), payload.DeviceTypeOf(f.Address))
	return d
}
