package main

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"looptone/serialio/wave"
)

// waveFlags say what a WAV file is written as.
type waveFlags struct {
	file      string
	rate      int
	depth     depthFlag
	fullScale float64 // volts
}

// Rates of samples that carry both tones, and what is usual.
const (
	leastRate = 8_000
	mostRate  = 1_000_000
	usualRate = 48_000
)

// add adds the flags; what is written, and how many volts full scale usually is, differ
// from command to command.
func (w *waveFlags) add(cmd *cobra.Command, what string, fullScale float64) {
	f := cmd.Flags()
	f.StringVar(&w.file, "wav", "", "write "+what+" to `FILE`, a WAV file")
	f.IntVar(&w.rate, "rate", usualRate, "samples a second of --wav, 8000 to 1000000")
	w.depth.format = wave.PCM16
	f.Var(&w.depth, "depth", "bits of a sample of --wav: 8, 16, 24, 32, or `float`")
	f.Float64Var(&w.fullScale, "full-scale", fullScale, "`VOLTS` that full scale of --wav stands for")
}

func (w *waveFlags) check(cmd *cobra.Command) error {
	if err := checkNotEmpty(cmd, "wav"); err != nil {
		return err
	}
	if w.file == "" {
		for _, flag := range [...]string{"rate", "depth", "full-scale"} {
			if cmd.Flags().Changed(flag) {
				return fmt.Errorf("--%s goes with --wav FILE", flag)
			}
		}
		return nil
	}
	switch {
	case w.file == "-":
		return errors.New("--wav wants a file, as stdout is for what is said: got -")
	case w.rate < leastRate || w.rate > mostRate:
		return fmt.Errorf("--rate %d is out of range, want %d to %d samples a second", w.rate, leastRate, mostRate)
	case !(w.fullScale > 0) || w.fullScale > 1e6:
		return fmt.Errorf("--full-scale %g is out of range, want more than 0 and at most 1000000 volts", w.fullScale)
	}
	return nil
}

// mostFile is how large a WAV file can be: its sizes have 32 bits.
const mostFile = 1<<32 - 1

// headroom is more than what stands before and behind the samples.
const headroom = 128

// refuseLong refuses what does not fit into the file.
func (w *waveFlags) refuseLong(span time.Duration) error {
	bytes := int64(w.depth.bytes())
	samples := int64(mostFile-headroom) / bytes
	if span.Seconds()*float64(w.rate) <= float64(samples) {
		return nil
	}
	fits := func(rate int64) time.Duration { return time.Duration(samples/rate) * time.Second }
	instead := ""
	if slow := int64(float64(samples) / span.Seconds()); slow >= leastRate {
		instead = fmt.Sprintf(", or --rate %d", slow)
	}
	return fmt.Errorf("%v at %d samples a second of %v are %.1f GiB, and a WAV file holds 4: want %v or less%s",
		span, w.rate, w.depth.format, span.Seconds()*float64(w.rate)*float64(bytes)/(1<<30), fits(int64(w.rate)), instead)
}

// refuseCoarse refuses steps that tones of an amplitude would vanish in.
func (w *waveFlags) refuseCoarse(volts float64) error {
	step := w.fullScale / math.Exp2(float64(8*w.depth.bytes()-1))
	const stepsInTone = 5
	if w.depth.format == wave.Float32 || step*stepsInTone <= volts {
		return nil
	}
	return fmt.Errorf("--depth %v at --full-scale %g has steps of %.2g V, too coarse for tones of %g V: want more bits, or --full-scale %g or less",
		&w.depth, w.fullScale, step, volts, math.Floor(10*w.fullScale*volts/stepsInTone/step)/10)
}

// depthFlag is what a sample is.
type depthFlag struct{ format wave.Format }

var depths = []string{wave.PCM8: "8", wave.PCM16: "16", wave.PCM24: "24", wave.PCM32: "32", wave.Float32: "float"}

func (d *depthFlag) String() string { return depths[d.format] }

func (d *depthFlag) Type() string { return "DEPTH" }

func (d *depthFlag) Set(text string) error {
	i := slices.Index(depths, text)
	if i < int(wave.PCM8) {
		return fmt.Errorf("%q is no depth, want one of %s", text, strings.Join(depths[wave.PCM8:], ", "))
	}
	d.format = wave.Format(i)
	return nil
}

// bytes is how many a sample has.
func (d *depthFlag) bytes() int { return min(int(d.format), 4) }
