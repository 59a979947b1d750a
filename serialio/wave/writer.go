package wave

import (
	"errors"
	"io"
)

// A Format is how a WAV file holds samples.
type Format uint8

// The formats.
const (
	PCM8 Format = iota + 1
	PCM16
	PCM24
	PCM32
	Float32
)

// A Writer writes a WAV file of one channel.
type Writer struct{}

// NewWriter begins a WAV file. The sizes in its head are put in by Close, where w can
// seek; else they say that the length is not known.
func NewWriter(w io.Writer, rate int, f Format) (*Writer, error) {
	return nil, errors.New("not yet")
}

// Write writes samples, ±1 being full scale; what is beyond is clipped, and counted.
func (w *Writer) Write(samples []float32) error { return nil }

// Clipped is how many samples were beyond full scale.
func (w *Writer) Clipped() int64 { return 0 }

// Close ends the file, but does not close what it was written to.
func (w *Writer) Close() error { return nil }
