package fsk

import (
	"io"

	"looptone/serialio/capture"
	"looptone/serialio/wave"
)

// A Reader makes records of a waveform.
type Reader struct{}

// NewReader reads what w holds.
func NewReader(w *wave.Reader, name string) *Reader { return &Reader{} }

// Next is as [capture.Reader] has it.
func (r *Reader) Next(rec *capture.Record) error { return io.EOF }
