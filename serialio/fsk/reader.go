package fsk

import (
	"errors"
	"io"
	"time"

	"looptone/frame"
	"looptone/serialio/capture"
	"looptone/serialio/wave"
)

// A Reader makes records of a waveform: one of each character, and one of each time that
// a carrier goes on or off.
type Reader struct {
	samples *wave.Reader
	name    string
	rate    float64
	demod   *Demodulator
	err     error // that ended the samples

	pos   int64
	free  float64 // seconds: when the last character was over; 0 behind a carrier's begin and end
	block [4096]float32

	// The record that was handed on.
	char   [1]byte
	sample [1]int64
	marks  [1]frame.MarkAt
}

// NewReader reads what w holds.
func NewReader(w *wave.Reader, name string) *Reader {
	return &Reader{samples: w, name: name, rate: w.Rate(), demod: NewDemodulator(w.Rate())}
}

// placeBits is how far in bits the place of a character may be off: what is longer than a
// character by less than that need not be a gap.
const placeBits = 0.25

// Next is as [capture.Reader] has it.
func (r *Reader) Next(rec *capture.Record) error {
	var h Heard
	for !r.demod.Next(&h) {
		if r.err != nil {
			return r.err
		}
		n, err := r.samples.Read(r.block[:])
		r.demod.Feed(r.block[:n])
		if r.err = placed(err); err != nil {
			r.demod.End()
		}
	}
	at := capture.After(seconds(h.At))
	*rec = capture.Record{Streams: 1, Start: at, End: at, Times: capture.StartTimes, Parity: true, Carrier: h.Carrier,
		Place: capture.Place{File: r.name, Samples: r.sample[:0]}}
	if h.Carrier != 0 {
		r.free = 0
		return nil
	}
	r.char[0], r.sample[0] = h.Char, int64(h.At*r.rate+0.5)
	rec.Chars, rec.Place.Samples = r.char[:], r.sample[:]
	rec.End = capture.After(seconds(h.At + charBits*h.Bit))
	mark := h.Mark
	if idle := h.At - r.free; r.free > 0 && idle > (charBits+placeBits)*h.Bit {
		mark |= frame.Gap
	}
	if mark != 0 {
		r.marks[0] = frame.MarkAt{Pos: r.pos, Mark: mark}
		rec.Marks = r.marks[:]
	}
	r.free = h.At + charBits*h.Bit
	r.pos++
	return nil
}

// placed is an error in samples as one of a capture.
func placed(err error) error {
	var wrong *wave.SyntaxError
	if !errors.As(err, &wrong) {
		return err
	}
	at := capture.Position{File: wrong.File, Line: wrong.Line, Column: wrong.Column, Byte: wrong.Byte}
	return &capture.SyntaxError{Position: at, Err: wrong.Err}
}

// Told is what is to be said at the end: what there was instead of characters.
func (r *Reader) Told() string {
	if r.err == nil || r.err != io.EOF {
		return ""
	}
	return r.demod.Told()
}

func seconds(s float64) time.Duration { return time.Duration(s*float64(time.Second) + 0.5) }
