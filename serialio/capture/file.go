package capture

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"time"

	"looptone/frame"
)

// magic is what a capture file begins with; behind it stands its version.
const (
	magic   = "looptone capture "
	version = "1"
)

// fileReader reads the project's own capture file. A record is a line.
type fileReader struct {
	in       *input
	err      error
	line     int64 // the one that is being read
	chain    chain
	unclosed bool  // the last line was good, and not the end of its section
	broken   int64 // the last line that was no part of the chain
	section  section
	streams  [256]*stream
	known    []*stream     // those of streams
	origin   time.Time     // wall clock of time 0, by the last section that told it
	last     time.Duration // the latest time so far

	// The record that is being read.
	chars   []byte
	columns []int64
	marks   []frame.MarkAt
}

var (
	errTorn = errors.New("line is torn: it does not end with a CRC (want for instance *906e)")
	errLong = errors.New("line does not end: want at most 65535 bytes")
	errLine = errors.New(`line is not known: want a time, "!" or "#" in front`)
	errEnd  = errors.New(`"! end" is missing: the recording was cut short, or lines of it are lost`)
)

func openFile(in *input) (Reader, string, error) {
	if isUTF16(in) {
		return nil, "", fmt.Errorf("%s %w", in.name, ErrUTF16)
	}
	skipByteOrderMark(in)
	return &fileReader{in: in, chain: chain{good: firstSeed}}, "looptone capture", nil
}

// isFile reports whether the input begins as a capture file does.
func isFile(in *input) bool {
	for bytes.HasPrefix([]byte(magic), text(in)) && len(text(in)) < len(magic) && in.more() {
	}
	return bytes.HasPrefix(text(in), []byte(magic))
}

// isDamagedFile reports whether text is of a capture file whose first line does not
// say so any more.
func isDamagedFile(text []byte) bool {
	seed, chained := uint16(0), false
	for line := range bytes.Lines(text) {
		line = bytes.TrimSuffix(bytes.TrimSuffix(line, []byte("\n")), []byte("\r"))
		if bytes.HasPrefix(line, []byte(magic)) {
			return true
		}
		before, crc, sealed := cutSeal(line)
		if !sealed {
			chained = chained && len(line) == 0
			continue
		}
		if chained && crc == crcOf(before, seed) {
			return true
		}
		seed, chained = crc, true
	}
	return false
}

func (r *fileReader) Next(rec *Record) error {
	for r.err == nil {
		*rec = Record{}
		if line, whole, err := r.in.line(); err != nil {
			r.atEnd(err, rec)
		} else {
			r.line++
			r.take(line, whole, rec)
		}
		if rec.Chars != nil || rec.Carrier != 0 || rec.Lost > 0 || rec.Damage != nil || rec.Resumed {
			rec.Streams = len(r.known)
			if r.section.started {
				rec.Origin = r.origin
			}
			return nil
		}
	}
	return r.err
}

// atEnd ends the reading, if need be behind the news that an end is missing.
func (r *fileReader) atEnd(err error, rec *Record) {
	if err == io.EOF && r.unclosed {
		r.line++
		r.breakOff(rec, 0, errEnd)
		return
	}
	r.err = err
}

// take reads a line. Who appends to a file begins a new line first, so an empty
// one means nothing.
func (r *fileReader) take(line []byte, whole bool, rec *Record) {
	text, crc, sealed := cutSeal(line)
	switch {
	case !whole:
		r.breakOff(rec, 0, errLong)
		r.chain.torn()
	case len(line) == 0:
	case !sealed:
		r.breakOff(rec, 0, errTorn)
		r.chain.torn()
	default:
		r.takeSealed(text, crc, rec)
	}
}

func (r *fileReader) takeSealed(text []byte, crc uint16, rec *Record) {
	opens := bytes.HasPrefix(text, []byte(magic))
	if opens && crc == crcOf(text, firstSeed) {
		r.chain = chain{good: firstSeed}
	}
	if want, ok := r.chain.check(text, crc); !ok {
		r.breakOff(rec, len(text)+1, fmt.Errorf("CRC does not match: the line is damaged, "+
			"or one in front of it is lost or misplaced (got %04x, want %04x)", crc, want))
		return
	}
	if opens && r.unclosed {
		r.damaged(rec, 0, errEnd)
	}
	r.unclosed = true
	if at, err := r.read(text, rec); err != nil {
		r.damaged(rec, at, err)
	}
}

// breakOff notes a line that is no part of the chain. Behind one that is the last,
// nobody needs to hear that the end is missing too.
func (r *fileReader) breakOff(rec *Record, at int, err error) {
	r.unclosed, r.broken = false, r.line
	r.damaged(rec, at, err)
}

// read reads a line whose CRC is right, and tells where an error stands.
func (r *fileReader) read(text []byte, rec *Record) (at int, err error) {
	switch {
	case len(text) > 0 && '0' <= text[0] && text[0] <= '9':
		return r.heard(text, rec)
	case len(text) > 0 && text[0] == '#':
		return 0, nil
	case bytes.HasPrefix(text, []byte("! ")):
		return r.told(text, len("! "), rec)
	case !bytes.HasPrefix(text, []byte(magic)):
		return 0, errLine
	case string(text[len(magic):]) != version:
		r.err = &SyntaxError{r.position(len(magic)), fmt.Errorf("version %q of the format cannot be read: want %s", text[len(magic):], version)}
		return 0, nil
	}
	r.begin(rec)
	return 0, nil
}

// damaged notes what cannot be read. Behind it, characters may be missing in
// every stream.
func (r *fileReader) damaged(rec *Record, at int, err error) {
	rec.Damage = &SyntaxError{r.position(at), err}
	for _, s := range r.known {
		s.cut = true
	}
}

func (r *fileReader) position(at int) Position {
	return Position{File: r.in.name, Line: r.line, Column: int64(at) + 1}
}
