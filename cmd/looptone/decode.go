package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/serialio/capture"
)

type decodeOptions struct {
	files   []string
	as      string
	json    bool
	explain bool
	strict  bool
}

func newDecode() *cobra.Command {
	var o decodeOptions
	cmd := &cobra.Command{
		Use:   "decode [FILE...]",
		Short: "captured characters → frames, values, damage",
		Long: `Decode finds frames in captured characters and says what they mean. Without a
FILE, or with -, it reads stdin. A capture is raw bytes, or text: hex with or
without 0x, commas, offsets and an ASCII column, frames one a line with or
without their preamble. What it is is found out from the first 64 KiB, or when
the input ends; with --as nothing need be found out, and a pipe is decoded as it
comes.`,
		Example: "  looptone decode trace.txt\n  echo 'ff ff 02 80 01 00 83' | looptone decode --explain",
		RunE: func(cmd *cobra.Command, args []string) error {
			o.files = args
			if err := o.check(); err != nil {
				return usageError{err}
			}
			return o.run(cmd.Context(), cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.as, "as", "", "take the input for `FORMAT`: raw or hex (default: find out)")
	f.BoolVar(&o.json, "json", false, "one JSON object a line")
	f.BoolVar(&o.explain, "explain", false, "take every message apart, byte by byte")
	f.BoolVar(&o.strict, "strict", false, "exit code 3 when anything is damaged or noise")
	choices(cmd, "as", "raw", "hex")
	return cmd
}

func (o *decodeOptions) check() error {
	if o.as != "" && o.as != "raw" && o.as != "hex" {
		return fmt.Errorf("--as takes raw or hex, got %q", o.as)
	}
	if o.json && o.explain {
		return errors.New("decode takes one of --json and --explain")
	}
	return nil
}

func (o *decodeOptions) run(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) error {
	if len(o.files) == 0 {
		o.files = []string{"-"}
	}
	out := bufio.NewWriterSize(stdout, 64<<10)
	d := decoding{decodeOptions: o, ctx: ctx, out: out, stderr: stderr}
	err := d.files(newPatient(ctx, stdin, func() { out.Flush() }))
	if flushErr := out.Flush(); err == nil {
		err = flushErr
	}
	if err == nil {
		err = d.verdict()
	}
	return err
}

// A decoding is one run over the files, each a stream of one conversation.
type decoding struct {
	*decodeOptions
	ctx     context.Context
	out     *bufio.Writer
	stderr  io.Writer
	tracker exchange.Tracker
	frames  int
	trouble int
	line    []byte
}

func (d *decoding) files(stdin io.Reader) error {
	for stream, name := range d.decodeOptions.files {
		if err := d.file(stream, name, stdin); err != nil {
			return err
		}
	}
	return nil
}

func (d *decoding) file(stream int, name string, stdin io.Reader) error {
	in := stdin
	if name == "-" {
		name = "stdin"
	} else {
		f, err := os.Open(name)
		if err != nil {
			return err
		}
		defer f.Close()
		in = f
	}
	r, what, err := capture.Open(in, name, d.as)
	if err != nil {
		return err
	}
	fmt.Fprintf(d.stderr, "%s: %s\n", name, what)
	return d.decode(stream, r)
}

// decode goes the one way of every capture: records, events, messages, lines.
func (d *decoding) decode(stream int, r capture.Reader) error {
	decoder := frame.Decoder{Bare: true}
	var record capture.Record
	var trail capture.Trail
	for {
		err := r.Next(&record)
		if d.ctx.Err() != nil {
			return errInterrupted
		}
		if err != nil {
			decoder.End()
			d.print(stream, &decoder, &trail)
			if err == io.EOF {
				err = nil
			}
			return err
		}
		trail.Add(decoder.Pos(), &record)
		decoder.Feed(record.Chars, record.Marks)
		d.print(stream, &decoder, &trail)
	}
}

func (d *decoding) print(stream int, decoder *frame.Decoder, trail *capture.Trail) {
	var ev frame.Event
	for decoder.Next(&ev) {
		if ev.Outcome == frame.Whole {
			d.frames++
		} else {
			d.trouble++
		}
		m := d.tracker.Follow(&ev, nil)
		at, known := trail.Position(ev.Start)
		trail.Forget(ev.End)
		if d.json {
			d.line = view.AppendJSON(d.line[:0], &m, stream, place(at, known))
			d.line = append(d.line, '\n')
			d.out.Write(d.line)
			continue
		}
		fmt.Fprintf(d.out, "%-9s  %s\n", where(at, known, &ev), view.Sentence(&m))
		if d.explain && ev.Outcome == frame.Whole {
			d.out.WriteString(view.Explain(&m))
		}
	}
}

// place is where an event stands in its file, where that has lines.
func place(at capture.Position, known bool) *view.Position {
	if !known || at.Line == 0 {
		return nil
	}
	return &view.Position{File: at.File, Line: at.Line, Column: at.Column}
}

func where(at capture.Position, known bool, ev *frame.Event) string {
	if known && at.Line > 0 {
		return fmt.Sprintf("line %d", at.Line)
	}
	return fmt.Sprintf("byte %d", ev.Start)
}

// verdict is what the whole run ends with.
func (d *decoding) verdict() error {
	switch {
	case d.frames == 0:
		return errors.New("no frame in the input")
	case d.strict && d.trouble > 0:
		return errNotInOrder
	}
	return nil
}
