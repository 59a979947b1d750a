package wave

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
)

// Options say what of a waveform need not be found out.
type Options struct {
	Rate    float64 // samples a second, of a CSV without times
	Channel int     // of a WAV file, from 1; 0 is the first
	Columns string  // of a CSV: "time=1,volts=CH2"
}

// The rates that are read.
const (
	leastRate = 8000 // the higher tone has 2200 Hz, and both have side bands
	mostRate  = 1e9
)

// A Reader reads samples from a file.
type Reader struct {
	source
	samples int64
	err     error
}

// source is a file that is being read.
type source interface {
	rate() float64
	what() string
	told() string
	// read is as Reader.Read, but for samples that are not finite, and what follows an error.
	read(dst []float32) (n int, err error)
	// place tells where sample i of those stood that read gave last.
	place(i int) SyntaxError
}

// A SyntaxError says what in a waveform cannot be read, and where: in line and column,
// from 1, or where Line is 0 at which byte.
type SyntaxError struct {
	File         string
	Line, Column int64
	Byte         int64
	Err          error
}

// Error is "trace.wav: byte 20: …" or "trace.csv:3:7: …".
func (e *SyntaxError) Error() string {
	if e.Line > 0 {
		return fmt.Sprintf("%s:%d:%d: %v", e.File, e.Line, e.Column, e.Err)
	}
	return fmt.Sprintf("%s: byte %d: %v", e.File, e.Byte, e.Err)
}

func (e *SyntaxError) Unwrap() error { return e.Err }

// Amperes reports whether the samples are currents, in amperes; a CSV may say so.
func (r *Reader) Amperes() bool {
	c, ok := r.source.(*csv)
	return ok && c.layout.voltUnit.ampere()
}

// Open begins to read a WAV file or a CSV; name is for errors. What is wrong with the
// file is a [*SyntaxError]. Of a CSV it reads on until the rate is known: some thousand
// rows, or to the end.
func Open(r io.Reader, name string, o Options) (*Reader, error) {
	if err := o.Check(); err != nil {
		return nil, err
	}
	in := bufio.NewReaderSize(r, 2*bufferSize) // a sample of each channel can have 64 KiB
	begin, err := in.Peek(len("RIFF"))
	switch {
	case len(begin) == 0 && err == io.EOF:
		return nil, fmt.Errorf("%s is empty", name)
	case err != nil && err != io.EOF:
		return nil, err
	}
	out := &Reader{}
	if isRIFF(begin) || bytes.Equal(begin, []byte("RIFX")) {
		out.source, err = openWAV(in, name, o)
	} else {
		out.source, err = openCSV(in, name, o)
	}
	if err != nil {
		return nil, err
	}
	return out, nil
}

// Check refuses options that make no sense.
func (o *Options) Check() error {
	switch {
	case o.Rate != 0 && !(o.Rate >= leastRate && o.Rate <= mostRate):
		return fmt.Errorf("--rate %v: %s", o.Rate, wantRate)
	case o.Channel < 0:
		return fmt.Errorf("--channel %d: want 1 or more", o.Channel)
	}
	_, err := parseColumns(o.Columns)
	return err
}

const wantRate = "want 8000 or more, which the tones need, and at most 1e9"

// Rate is how many samples a second there are.
func (r *Reader) Rate() float64 { return r.rate() }

// What says in words what was found: "WAV, 48000 samples a second, 16 bits".
func (r *Reader) What() string { return r.what() }

// Told says at the end what was amiss with the file, a line each; "" where nothing was.
func (r *Reader) Told() string { return r.told() }

// Read reads up to len(dst) samples: of a WAV file with full scale as ±1, of a CSV in
// volts, or as they stand there if it names no unit. It waits for no more than one of
// them. The error at the end is io.EOF; samples before an error are good. All are finite.
func (r *Reader) Read(dst []float32) (n int, err error) {
	if r.err != nil || len(dst) == 0 {
		return 0, r.err
	}
	n, r.err = r.read(dst)
	if i := finite(dst[:n]); i < n {
		at := r.place(i)
		at.Err = fmt.Errorf("sample %d is %v: want a finite number", r.samples+int64(i), dst[i])
		n, r.err = i, &at
	}
	r.samples += int64(n)
	return n, r.err
}
