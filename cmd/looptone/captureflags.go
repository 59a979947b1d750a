package main

import (
	"errors"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"looptone/serialio/capture"
	"looptone/serialio/wave"
)

// captureFlags say how files are to be read.
type captureFlags struct {
	options  capture.Options
	waveform wave.Options
	together bool // the files are directions of one line
	maxSize  sizeFlag
}

// fileFlags are their names, which a port does not take.
var fileFlags = [...]string{"as", "columns", "pattern", "invert-levels", "together", "max-size", "rate", "channel"}

func (c *captureFlags) add(cmd *cobra.Command) {
	c.maxSize = sizeFlag{bytes: capture.MostRead, least: 1}
	f := cmd.Flags()
	f.StringVar(&c.options.As, "as", "", "take the input for `FORMAT`: "+capture.FormatList(waveforms(nil))+" (default: find out)")
	f.StringVar(&c.options.Columns, "columns", "", "of CSV or VCD: what columns or signals mean, `WORD=COLUMN,...`, for instance time=1,hex=Data or level=D0; words: time, data, hex, dec, char, stream, error, marks, level; volts of a waveform")
	f.StringVar(&c.options.Pattern, "pattern", "", "of a log: `REGEXP` that finds messages by its groups (?P<hex>…), and if wanted (?P<time>…) and (?P<direction>…)")
	f.BoolVar(&c.options.Inverted, "invert-levels", false, "of levels in CSV or VCD: the line rests at 0, as behind an RS-232 driver")
	f.IntVar(&c.waveform.Channel, "channel", 0, "of a waveform in WAV: take channel `NUMBER`, from 1 (default: the first)")
	f.BoolVar(&c.together, "together", false, "the FILEs were recorded at the same time, each a direction of one line: read them as one, in the order of times")
	f.Var(&c.maxSize, "max-size", "read no more of an input than this, counted behind decompression")
	choices(cmd, "as", capture.Formats(waveforms(nil))...)
}

// addRate adds the flag for the rate of samples that are read, which a command that
// writes some cannot have.
func (c *captureFlags) addRate(cmd *cobra.Command) {
	cmd.Flags().Float64Var(&c.waveform.Rate, "rate", 0, "of a waveform in CSV without times: `NUMBER` of samples a second")
}

// check refuses what does not go together, or not with the files.
func (c *captureFlags) check(files []string) error {
	c.options.MaxSize = c.maxSize.bytes
	also := waveforms(&c.waveform)
	c.options.Also = []capture.Format{also}
	if err := c.forceWaveform(); err != nil {
		return err
	}
	switch {
	case c.options.As != "" && !slices.Contains(capture.Formats(also), c.options.As):
		return fmt.Errorf("--as takes %s, got %q", capture.FormatList(also), c.options.As)
	case c.together && len(files) < 2:
		return errors.New("--together reads several files as one: give two FILEs or more")
	}
	return c.options.Check()
}
