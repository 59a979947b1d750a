package capture

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
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
	NoTimes    Times = iota // of nothing: only the order counts
	StartTimes              // of the first character's start bit
	EndTimes                // of the last character's stop bit
)

// A Writer writes a capture file, each line in one Write: whoever is killed loses at
// most the line that he was writing. The kernel keeps what was written until it is on
// the disk; a loss of power can cost that, and whoever minds calls Sync of the file.
//
// Behind an error the Writer can be used on. What the error is about is not in the
// file; a line of which only a part was written is left torn, and the next one begins
// behind it.
type Writer struct {
	w       io.Writer
	streams []described
	seed    uint16 // of the next line: the CRC of the last one
	torn    bool   // a part of a line stands at the end
	buf     []byte // a line end, and the line that is being written
}

// described is a stream that a Writer has described.
type described struct {
	Times
	at  time.Duration // of its last line
	gap bool          // before its next character
}

const (
	longestLine  = 65535    // without its end, as the reader has it
	latest       = 1e18 - 1 // nanoseconds that have nine digits in front of the point
	mostInLine   = 512      // characters, so that lines can be looked at
	marksInLine  = "pfg"    // as they stand behind a character, in the order of markLetters
	hexDigits    = "0123456789abcdef"
	firstLine    = magic + version
	mostOfStream = 256
)

var markLetters = [len(marksInLine)]frame.Mark{frame.Parity, frame.Framing, frame.Gap}

// NewWriter begins a recording: its first line, the wall clock unless it is zero, and
// the streams, numbered from 0. A file that is appended to must end with the end of a
// line.
func NewWriter(w io.Writer, started time.Time, streams []Stream) (*Writer, error) {
	if len(streams) > mostOfStream {
		return nil, fmt.Errorf("%d streams are too many, want at most %d", len(streams), mostOfStream)
	}
	c := &Writer{w: w, seed: firstSeed, buf: []byte{'\n'}, streams: make([]described, len(streams))}
	if err := c.write(append(c.begin(), firstLine...)); err != nil {
		return nil, err
	}
	if !started.IsZero() {
		if err := c.write(started.AppendFormat(append(c.begin(), "! started "...), time.RFC3339Nano)); err != nil {
			return nil, err
		}
	}
	for i := range streams {
		if err := c.describe(i, &streams[i]); err != nil {
			return nil, err
		}
	}
	return c, nil
}

// describe writes what a stream is.
func (w *Writer) describe(i int, s *Stream) error {
	words := [...]string{NoTimes: "none", StartTimes: "start", EndTimes: "end"}
	switch {
	case int(s.Times) >= len(words):
		return fmt.Errorf("stream %d has times of kind %d, want 0 to %d", i, s.Times, len(words)-1)
	case int(s.Via) >= len(vias):
		return fmt.Errorf("stream %d has via of kind %d, want 0 to %d", i, s.Via, len(vias)-1)
	case s.Late < 0 || s.Late > latest:
		return fmt.Errorf("stream %d is late by %v: want a time from 0 to 999999999 s", i, s.Late)
	}
	w.streams[i].Times = s.Times
	b := strconv.AppendInt(append(w.begin(), "! stream "...), int64(i), 10)
	b = strconv.AppendQuote(append(b, ' '), s.Name)
	b = append(append(b, " times="...), words[s.Times]...)
	if s.Late > 0 {
		b = appendSeconds(append(b, " late="...), s.Late)
	}
	if s.Parity {
		b = append(b, " parity=visible"...)
	} else {
		b = append(b, " parity=hidden"...)
	}
	if s.Via != Unknown {
		b = append(append(b, " via="...), vias[s.Via]...)
	}
	return w.write(b)
}

// Heard writes characters of a stream; Pos of the marks counts in chars. at is since the
// start, of what the stream's times are of, and no time of a stream lies before the one
// in front of it. Many characters become several lines. The marks Line and Cut are not
// written: the format has no lines of text, and a reader finds cuts by times, carrier
// and losses.
func (w *Writer) Heard(stream uint8, at time.Duration, chars []byte, marks []frame.MarkAt) error {
	if err := w.check(stream, at); err != nil {
		return err
	}
	s := &w.streams[stream]
	for first := 0; first < len(chars); first += mostInLine {
		end := min(first+mostInLine, len(chars))
		b := w.head(stream, s.timeOf(at, first, end, len(chars)))
		var err error
		if marks, err = w.characters(b, s, chars[first:end], int64(first), marks); err != nil {
			return err
		}
	}
	for _, m := range marks {
		if m.Pos >= int64(len(chars)) && m.Mark&frame.Gap != 0 {
			s.gap = true
		}
	}
	return nil
}

// timeOf is the time of the characters from first up to end, of n with the time at.
// Counted back it does not lie before the line in front.
func (s *described) timeOf(at time.Duration, first, end, n int) time.Duration {
	switch s.Times {
	case StartTimes:
		at += frame.Characters(int64(first))
	case EndTimes:
		at = max(at-frame.Characters(int64(n-end)), s.at)
	}
	s.at = at
	return at
}

// characters writes a line that begins with b and ends with chars, of which the first
// is the one with position pos in what the marks count, and gives the marks behind it.
func (w *Writer) characters(b []byte, s *described, chars []byte, pos int64, marks []frame.MarkAt) ([]frame.MarkAt, error) {
	gap := s.gap
	for i, c := range chars {
		b = append(b, ' ', hexDigits[c>>4], hexDigits[c&0xf])
		var mark frame.Mark
		for len(marks) > 0 && marks[0].Pos <= pos+int64(i) {
			mark |= marks[0].Mark
			marks = marks[1:]
		}
		if gap {
			mark |= frame.Gap
			gap = false
		}
		if mark != 0 {
			b = appendMarks(b, mark)
		}
	}
	err := w.write(b)
	if err == nil {
		s.gap = false
	}
	return marks, err
}

func appendMarks(b []byte, mark frame.Mark) []byte {
	for i, m := range markLetters {
		if mark&m != 0 {
			b = append(b, marksInLine[i])
		}
	}
	return b
}

// Carrier writes that the carrier went on or off.
func (w *Writer) Carrier(stream uint8, at time.Duration, on bool) error {
	if err := w.check(stream, at); err != nil {
		return err
	}
	w.streams[stream].at = at
	if on {
		return w.write(append(w.head(stream, at), " carrier on"...))
	}
	return w.write(append(w.head(stream, at), " carrier off"...))
}

// Lost writes that so many characters of a stream were lost.
func (w *Writer) Lost(stream uint8, at time.Duration, n int64) error {
	if err := w.check(stream, at); err != nil {
		return err
	}
	w.streams[stream].at = at
	for ; n > 0; n -= mostLost {
		if err := w.write(strconv.AppendInt(append(w.head(stream, at), " lost "...), min(n, mostLost), 10)); err != nil {
			return err
		}
	}
	return nil
}

// Remark writes a comment of one line.
func (w *Writer) Remark(text string) error {
	return w.write(append(append(w.begin(), "# "...), text...))
}

// End writes that the recording is complete.
func (w *Writer) End() error { return w.write(append(w.begin(), "! end"...)) }

// check refuses what could not be read.
func (w *Writer) check(stream uint8, at time.Duration) error {
	switch {
	case int(stream) >= len(w.streams):
		return fmt.Errorf("stream %d is not described: there are %d", stream, len(w.streams))
	case at < 0 || at > latest:
		return fmt.Errorf("%v is no time of a capture: want 0 to 999999999 s", at)
	case at < w.streams[stream].at:
		return fmt.Errorf("stream %d: %v lies before %v, the time of the line in front", stream, at, w.streams[stream].at)
	}
	return nil
}

// begin begins a line.
func (w *Writer) begin() []byte { return w.buf[:1] }

// head begins a line with a time and a stream.
func (w *Writer) head(stream uint8, at time.Duration) []byte {
	return strconv.AppendInt(append(appendSeconds(w.begin(), at), ' '), int64(stream), 10)
}

var (
	errLineTooLong = fmt.Errorf("line is too long, want at most %d bytes", longestLine-sealLen)
	errLineEnds    = errors.New("text holds the end of a line, want one line")
)

// write writes the line that stands in b behind its first byte.
func (w *Writer) write(b []byte) error {
	w.buf = b // which may have grown
	text := b[1:]
	switch {
	case len(text)+sealLen > longestLine:
		return errLineTooLong
	case bytes.IndexByte(text, '\n') >= 0:
		return errLineEnds
	}
	crc := crcOf(text, w.seed)
	b = append(b, ' ', '*', hexDigits[crc>>12], hexDigits[crc>>8&0xf], hexDigits[crc>>4&0xf], hexDigits[crc&0xf], '\n')
	if w.buf = b; !w.torn {
		b = b[1:]
	}
	n, err := w.w.Write(b)
	if n < len(b) && err == nil {
		err = io.ErrShortWrite
	}
	if n > 0 {
		w.torn = n < len(b)
	}
	if n < len(b)-1 { // without its end, a line can be read
		return err
	}
	w.seed = crc
	return nil
}

// appendSeconds writes a time in seconds, with as many places as it needs.
func appendSeconds(b []byte, d time.Duration) []byte {
	b = strconv.AppendInt(b, int64(d/time.Second), 10)
	rest := d % time.Second
	if rest == 0 {
		return b
	}
	b = append(b, '.')
	for unit := time.Second / 10; rest > 0; unit /= 10 {
		b = append(b, '0'+byte(rest/unit))
		rest %= unit
	}
	return b
}
