package main

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"os"

	"looptone/serialio/wave"
)

// A waveFile is a WAV file of voltages that is being written.
type waveFile struct {
	flags *waveFlags
	file  *os.File
	out   *wave.Writer
	peak  float32 // volts
}

// create creates the file.
func (w *waveFlags) create() (*waveFile, error) {
	file, err := os.Create(w.file)
	if err != nil {
		return nil, err
	}
	out, err := wave.NewWriter(file, w.rate, w.depth.format)
	if err != nil {
		file.Close()
		return nil, err
	}
	return &waveFile{flags: w, file: file, out: out}, nil
}

// write writes volts, which it makes parts of full scale.
func (f *waveFile) write(volts []float32) error {
	part, peak := float32(1/f.flags.fullScale), f.peak
	for i, v := range volts {
		peak = max(peak, v, -v)
		volts[i] = v * part
	}
	f.peak = peak
	if err := f.out.Write(volts); err != nil {
		return fmt.Errorf("%s: %w", f.flags.file, err)
	}
	return nil
}

// close ends the file, and says what became of it.
func (f *waveFile) close(stderr io.Writer) error {
	err := cmp.Or(f.out.Close(), f.file.Close())
	if err != nil {
		return fmt.Errorf("%s: %w", f.flags.file, err)
	}
	w := f.flags
	fmt.Fprintf(stderr, "%s: %d samples a second of %v, full scale is %g V\n", w.file, w.rate, w.depth.format, w.fullScale)
	if n := f.out.Clipped(); n > 0 {
		fmt.Fprintf(stderr, "%s: %d samples are clipped, the voltage came to %.1f V: want --full-scale %g or more\n",
			w.file, n, f.peak, math.Ceil(float64(f.peak)))
	}
	return nil
}
