package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"looptone/serialio/capture"
)

// checkConvert refuses what has no meaning beside --convert, which shows no messages.
func (o *decodeOptions) checkConvert() error {
	_, err := capture.NewExport(io.Discard, o.convert)
	switch {
	case o.convert == "":
		return nil
	case err != nil:
		return fmt.Errorf("--convert: %w", err)
	case o.json || o.explain || o.csv || o.summary || o.findings || o.strict:
		return errors.New("--convert writes characters, not messages: leave out what shows or judges messages")
	case o.filterFlags.any() || o.started != "":
		return errors.New("--convert writes everything: leave out what chooses messages, and --started")
	case len(o.commands) > 0:
		return errors.New("--convert writes characters, not messages: leave out --commands")
	case len(o.files) > 1 && !o.together:
		return errors.New("--convert takes one input, whose streams stay apart: give one FILE, or --together")
	}
	return nil
}

// runConvert writes what an input holds in another format.
func (o *decodeOptions) runConvert(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) error {
	if len(o.files) == 0 {
		o.files = []string{"-"}
	}
	if err := checkFiles(o.files, false); err != nil {
		return err
	}
	out := newBackground(stdout)
	export, err := capture.NewExport(out, o.convert)
	if err != nil {
		return err
	}
	in := inputs{ctx: ctx, stdin: newPatient(ctx, stdin, func() { out.Flush() }), stdout: stdout, stderr: stderr, options: o.options, together: o.together}
	err = in.convert(o.files, export)
	lost, end := export.Close()
	if err = cmp.Or(err, end, out.Close()); err == nil && len(lost) > 0 {
		fmt.Fprintf(stderr, "not in %s: %s\n", o.convert, strings.Join(lost, "; "))
	}
	return err
}

// convert writes all records of an input. Where it breaks off, what is written says so.
func (in *inputs) convert(names []string, to *capture.Export) error {
	r, err := in.open(names)
	if err != nil {
		return err
	}
	defer r.Close()
	damage := damageReport{to: r.told, name: r.name}
	var record capture.Record
	for err == nil {
		if err = r.Next(&record); err == nil {
			damage.add(&record)
			err = to.Write(&record)
		}
		if in.ctx.Err() != nil {
			err = errInterrupted
		}
	}
	if err != io.EOF {
		err = cmp.Or(to.Write(&capture.Record{Damage: err}), err)
	}
	r.Close() // and with it the progress, so that what is told now stays
	damage.to = in.stderr
	damage.end()
	in.tell(r)
	if err == io.EOF {
		return nil
	}
	return err
}
