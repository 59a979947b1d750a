package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"golang.org/x/term"

	"looptone/cmd/looptone/view"
	"looptone/serialio/capture"
)

// inputs are the files that a command reads, as streams of characters.
type inputs struct {
	ctx    context.Context
	stdin  io.Reader
	stdout io.Writer // where the results go
	stderr io.Writer // is told what each was taken for, and what of it cannot be read

	options  capture.Options
	noted    func(string) // is told of each input what stderr is told of it; nil for nobody
	together bool         // all were recorded at the same time, and are read as one
	started  time.Time    // when they were recorded, in place of what they tell; zero for that
}

// quiet are the same inputs, read once more.
func (in inputs) quiet() inputs {
	in.stderr, in.noted = io.Discard, nil
	return in
}

// apart divides files into those that are read as one.
func (in *inputs) apart(files []string) [][]string {
	if in.together {
		return [][]string{files}
	}
	return slices.Collect(slices.Chunk(files, 1))
}

// events hands on the events of one input, whose streams are numbered from first
// on, and gives the number behind the last.
func (in *inputs) events(names []string, first int, to hearer) (next int, err error) {
	r, err := in.open(names)
	if err != nil {
		return first, err
	}
	defer r.Close()
	l := listening{first: first, to: to, started: in.started}
	damage := damageReport{to: r.told, name: r.name}
	var record capture.Record
	for err == nil {
		if err = r.Next(&record); err == nil {
			damage.add(&record)
			l.take(&record)
		}
		if in.ctx.Err() != nil {
			return first, errInterrupted
		}
	}
	l.end()
	r.Close() // and with it the progress, so that what is told now stays
	damage.to = in.stderr
	damage.end()
	in.tell(r)
	if err == io.EOF {
		err = nil
	}
	return l.next(), err
}

// tell tells what an input has to say at its end.
func (in *inputs) tell(r *input) {
	for _, part := range r.parts {
		in.tell(part)
	}
	if t, ok := r.Reader.(interface{ Told() string }); ok {
		for line := range strings.Lines(t.Told()) {
			in.say(in.stderr, r.name, strings.TrimSuffix(line, "\n"))
		}
	}
}

// say tells something of an input.
func (in *inputs) say(to io.Writer, name, text string) {
	fmt.Fprintf(to, "%s: %s\n", name, text)
	if in.noted != nil {
		in.noted(filepath.Base(name) + ": " + text)
	}
}

// input is a reader of a capture, and the file under it.
type input struct {
	capture.Reader
	file io.Closer
	name string
	told io.Writer // is told what was found in it, as long as it is open

	parts []*input // that are read together; none of a single file
}

// Close closes what is under it.
func (r *input) Close() (err error) {
	for _, part := range r.parts {
		err = cmp.Or(err, part.Close())
	}
	if r.file != nil {
		err = r.file.Close()
	}
	return err
}

// checkFiles looks whether all files can be read, before the first of them is, and
// if need be twice.
func checkFiles(names []string, twice bool) error {
	for _, name := range names {
		if name == "-" {
			continue
		}
		info, err := os.Stat(name)
		if path := (*fs.PathError)(nil); errors.As(err, &path) {
			path.Op = "open" // which is what the user wants
			return path
		}
		switch mode := info.Mode(); {
		case mode.IsDir():
			return fmt.Errorf("%s is a directory: want a file", name)
		case mode.IsRegular():
			f, err := os.Open(name)
			if err != nil {
				return err
			}
			f.Close()
		case twice:
			return fmt.Errorf("--wide reads its input twice, and %s is no regular file: save it first", name)
		}
	}
	return nil
}

// open opens files as one input.
func (in *inputs) open(names []string) (*input, error) {
	if len(names) == 1 {
		return in.openFile(names[0])
	}
	all := &input{name: strings.Join(names, " and "), told: in.stderr}
	var readers []capture.Reader
	for _, name := range names {
		part, err := in.openFile(name)
		if err != nil {
			all.Close()
			return nil, err
		}
		all.parts, readers = append(all.parts, part), append(readers, part)
	}
	all.Reader = capture.Together(readers...)
	return all, nil
}

func (in *inputs) openFile(name string) (*input, error) {
	told := in.stderr
	file := io.NopCloser(in.stdin)
	if name == "-" {
		name = "stdin"
	} else {
		f, err := os.Open(name)
		if err != nil {
			return nil, err
		}
		file, told = in.watched(name, f)
	}
	r, what, err := capture.OpenWith(file, name, in.options)
	if err != nil {
		file.Close()
		return nil, err
	}
	in.say(told, name, what)
	return &input{Reader: r, file: file, name: name, told: told}, nil
}

// watched shows how far a file was read, where somebody watches who does not see
// the results meanwhile. What is told beside that goes to told.
func (in *inputs) watched(name string, f *os.File) (file io.ReadCloser, told io.Writer) {
	info, err := f.Stat()
	if err != nil || !info.Mode().IsRegular() || in.together || !isTerminal(in.stderr) || isTerminal(in.stdout) {
		return f, in.stderr
	}
	p := view.NewProgress(in.stderr, name, info.Size(), f)
	return p, p
}

func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}
