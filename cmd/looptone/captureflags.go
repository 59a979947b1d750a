package main

import (
	"errors"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"looptone/serialio/capture"
)

// captureFlags say how files are to be read.
type captureFlags struct {
	options  capture.Options
	together bool // the files are directions of one line
	maxSize  sizeFlag
}

// fileFlags are their names, which a port does not take.
var fileFlags = [...]string{"as", "columns", "pattern", "invert-levels", "together", "max-size"}

func (c *captureFlags) add(cmd *cobra.Command) {
	c.maxSize = sizeFlag{bytes: capture.MostRead, least: 1}
	f := cmd.Flags()
	f.StringVar(&c.options.As, "as", "", "take the input for `FORMAT`: "+capture.FormatList()+" (default: find out)")
	f.StringVar(&c.options.Columns, "columns", "", "of CSV or VCD: what columns or signals mean, `WORD=COLUMN,...`, for instance time=1,hex=Data or level=D0; words: time, data, hex, dec, char, stream, error, marks, level")
	f.StringVar(&c.options.Pattern, "pattern", "", "of a log: `REGEXP` that finds messages by its groups (?P<hex>…), and if wanted (?P<time>…) and (?P<direction>…)")
	f.BoolVar(&c.options.Inverted, "invert-levels", false, "of levels in CSV or VCD: the line rests at 0, as behind an RS-232 driver")
	f.BoolVar(&c.together, "together", false, "the FILEs were recorded at the same time, each a direction of one line: read them as one, in the order of times")
	f.Var(&c.maxSize, "max-size", "read no more of an input than this, counted behind decompression")
	choices(cmd, "as", capture.Formats()...)
}

// check refuses what does not go together, or not with the files.
func (c *captureFlags) check(files []string) error {
	c.options.MaxSize = c.maxSize.bytes
	switch {
	case c.options.As != "" && !slices.Contains(capture.Formats(), c.options.As):
		return fmt.Errorf("--as takes %s, got %q", capture.FormatList(), c.options.As)
	case c.together && len(files) < 2:
		return errors.New("--together reads several files as one: give two FILEs or more")
	}
	return c.options.Check()
}
