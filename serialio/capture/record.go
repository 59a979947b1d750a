package capture

import (
	"fmt"
	"time"

	"looptone/frame"
)

// A Record is characters that stand together in a capture, or news without
// characters.
type Record struct {
	Stream     uint8         // number of the direction, from 0
	Name       string        // of the stream; "" where the capture does not name it
	Streams    int           // that the capture is known to have so far
	Start, End Stamp         // start bit of the first character, stop bit of the last; those between follow without a gap
	Times      Times         // which of the two the capture tells; neither where it has no times
	Late       time.Duration // by which the times may lie behind what they are of
	Parity     bool          // wrong parity and stop bits would be seen
	Via        Via           // how it came to whoever recorded it
	Chars      []byte
	Marks      []frame.MarkAt // Pos is the index in the stream, as frame.Decoder.Feed wants it
	Place      Place
	Origin     time.Time // wall clock of time 0; zero where it is not known

	// In front of the characters:
	Damage  error // what of the file could not be read, a [*SyntaxError]; characters of any stream may be missing
	Carrier int8  // +1: it went on, -1: off; there are no characters then
	Lost    int64 // so many characters of the stream were lost while it was recorded
	Resumed bool  // another recording begins, later
}

// A Reader yields the records of a capture in their order.
type Reader interface {
	// Next fills in the next record; its slices are valid until the next call.
	// The error at the end is io.EOF. Records before an error are complete;
	// behind one, Next returns the same error again. An error in the capture
	// is a [*SyntaxError].
	Next(*Record) error
}

// A Place tells where in its file each character of a record stands. It shares
// its slices with the record.
type Place struct {
	File    string
	Line    int64   // all characters are on it; from 1; 0 where a file has no lines
	Columns []int64 // with a line: where each character begins in it, in bytes from 1
	Byte    int64   // without: offset of the first character, the others follow it
	Packet  int64   // from 1: Byte is an offset in its data; 0 where a file has no packets
	Samples []int64 // of a waveform: where each character begins, in samples from 0; else nil
}

// Of is the position of character i of the record.
func (p *Place) Of(i int) Position {
	if p.Samples != nil {
		return Position{File: p.File, Sampled: true, Sample: p.Samples[i]}
	}
	if p.Line == 0 {
		return Position{File: p.File, Byte: p.Byte + int64(i), Packet: p.Packet}
	}
	return Position{File: p.File, Line: p.Line, Column: p.Columns[i]}
}

// A Position is one place in a file: line and column, both from 1; or where Line is 0
// a byte's offset, in a packet if there are such, which count from 1; or where Sampled
// a sample, from 0.
type Position struct {
	File         string
	Line, Column int64
	Byte         int64
	Packet       int64
	Sampled      bool
	Sample       int64
}

// String is "trace.txt:3:7", "trace.bin: byte 7", "trace.pcapng: packet 3, byte 7" or
// "trace.wav: sample 1234".
func (p Position) String() string {
	switch {
	case p.Sampled:
		return fmt.Sprintf("%s: sample %d", p.File, p.Sample)
	case p.Line > 0:
		return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Column)
	case p.Packet > 0:
		return fmt.Sprintf("%s: packet %d, byte %d", p.File, p.Packet, p.Byte)
	}
	return fmt.Sprintf("%s: byte %d", p.File, p.Byte)
}

// A SyntaxError says what in a capture cannot be read, and where.
type SyntaxError struct {
	Position
	Err error
}

func (e *SyntaxError) Error() string { return e.Position.String() + ": " + e.Err.Error() }
func (e *SyntaxError) Unwrap() error { return e.Err }
