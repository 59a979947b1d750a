package main

import (
	"context"
	"fmt"
	"io"
	"os"

	"golang.org/x/term"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/serialio/capture"
)

// inputs are the files that a command reads, as streams of characters.
type inputs struct {
	ctx    context.Context
	stdin  io.Reader
	stdout io.Writer // where the results go
	stderr io.Writer // is told what each was taken for
	as     string
}

// quiet are the same inputs, read once more.
func (in inputs) quiet() inputs {
	in.stderr = io.Discard
	return in
}

// events hands on the events of one input, and where their first characters
// stand. An event is valid until do returns.
func (in *inputs) events(name string, do func(ev *frame.Event, trail *capture.Trail)) error {
	r, err := in.open(name)
	if err != nil {
		return err
	}
	defer r.Close()
	decoder := frame.Decoder{Bare: true}
	var record capture.Record
	var trail capture.Trail
	var ev frame.Event
	for err == nil {
		if err = r.Next(&record); err == nil {
			trail.Add(decoder.Pos(), &record)
			decoder.Feed(record.Chars, record.Marks)
		} else {
			decoder.End()
		}
		if in.ctx.Err() != nil {
			return errInterrupted
		}
		for decoder.Next(&ev) {
			do(&ev, &trail)
			trail.Forget(ev.End)
		}
	}
	if err == io.EOF {
		return nil
	}
	return err
}

// input is a reader of a capture, and the file under it.
type input struct {
	capture.Reader
	io.Closer
}

func (in *inputs) open(name string) (*input, error) {
	file := io.NopCloser(in.stdin)
	if name == "-" {
		name = "stdin"
	} else {
		f, err := os.Open(name)
		if err != nil {
			return nil, err
		}
		file = in.watched(name, f)
	}
	r, what, err := capture.Open(file, name, in.as)
	if err != nil {
		file.Close()
		return nil, err
	}
	fmt.Fprintf(in.stderr, "%s: %s\n", name, what)
	return &input{r, file}, nil
}

// watched shows how far a file was read, where somebody watches who does not see
// the results meanwhile.
func (in *inputs) watched(name string, f *os.File) io.ReadCloser {
	info, err := f.Stat()
	if err != nil || !info.Mode().IsRegular() || !isTerminal(in.stderr) || isTerminal(in.stdout) {
		return f
	}
	return view.Progress(in.stderr, name, info.Size(), f)
}

func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}
