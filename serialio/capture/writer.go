package capture

import (
	"io"
	"time"

	"looptone/frame"
)

// A Stream is what a capture file says of one of its streams.
type Stream struct {
	Name   string
	Times  Times
	Late   time.Duration // by which the times may lie behind what they are of
	Parity bool          // wrong parity and stop bits would be seen
	Via    Via
}

// Times says what the times of a stream are of.
type Times uint8

const (
	NoTimes    Times = iota
	StartTimes       // of the first character's start bit
	EndTimes         // of the last character's stop bit
)

// A Writer writes a capture file, each line at once: whoever is killed loses at most
// the line that he was writing.
type Writer struct{}

// NewWriter begins a recording: its first line, the wall clock unless it is zero, and
// the streams, numbered from 0. A file that is appended to must end with its line.
func NewWriter(w io.Writer, started time.Time, streams []Stream) (*Writer, error) {
	panic("not written yet")
}

// Heard writes characters of a stream; Pos of the marks counts in chars. at is since the
// start, of what the stream's times are of.
func (w *Writer) Heard(stream uint8, at time.Duration, chars []byte, marks []frame.MarkAt) error {
	panic("not written yet")
}

// Carrier writes that the carrier went on or off.
func (w *Writer) Carrier(stream uint8, at time.Duration, on bool) error { panic("not written yet") }

// Lost writes that so many characters of a stream were lost.
func (w *Writer) Lost(stream uint8, at time.Duration, n int64) error { panic("not written yet") }

// Remark writes a comment of one line.
func (w *Writer) Remark(text string) error { panic("not written yet") }

// End writes that the recording is complete.
func (w *Writer) End() error { panic("not written yet") }
