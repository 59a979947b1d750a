package capture

import (
	"fmt"
	"io"

	"looptone/frame"
)

const maxRecord = 4096 // characters

// hexReader reads hex text and dumps. A record is a line, or a part of one.
type hexReader struct {
	in      *input
	layout  layout
	offsets offsets
	pos     int64 // index in the stream of the record's first character
	err     error

	// The record that is being read.
	chars   []byte
	columns []int64
	marks   []frame.MarkAt
	recLine int64

	// Where the reading stands: at what is unread.
	line, col int64
	fresh     bool // nothing of the line was read
	skipping  bool // the rest of the line means nothing
	gap       int  // blanks in a row before this place
	token     token
	pending   frame.Mark // before the next character
	commented bool       // a comment was seen

	// What the line holds so far, without the record.
	seen      []byte // as far as an ASCII column can show it
	lineChars int
	star      star
}

func newHexReader(in *input, l layout) *hexReader {
	return &hexReader{
		in: in, layout: l,
		chars:   make([]byte, 0, maxRecord),
		columns: make([]int64, 0, maxRecord),
		marks:   make([]frame.MarkAt, 0, 1),
		seen:    make([]byte, 0, column),
		line:    1, col: 1, fresh: true,
	}
}

func (h *hexReader) Next(rec *Record) error {
	h.chars, h.columns, h.marks = h.chars[:0], h.columns[:0], h.marks[:0]
	for len(h.chars) == 0 {
		if h.err != nil {
			return h.err
		}
		h.err = h.step()
	}
	h.mark()
	*rec = Record{Streams: 1, Chars: h.chars, Marks: h.marks,
		Place: Place{File: h.in.name, Line: h.recLine, Columns: h.columns}}
	h.pos += int64(len(h.chars))
	return nil
}

// mark puts what is pending before the record's first character. The start of
// the input needs no mark.
func (h *hexReader) mark() {
	if h.pending != 0 && h.pos > 0 {
		h.marks = append(h.marks, frame.MarkAt{Pos: h.pos, Mark: h.pending})
	}
	h.pending = 0
}

// step reads a piece of a line, as far as it fits a record.
func (h *hexReader) step() error {
	if h.star.left > 0 {
		h.repeat()
		return nil
	}
	b, whole, err := h.in.piece()
	if err == io.EOF && h.star.open {
		return h.star.unfinished(h.in.name)
	}
	if err != nil {
		return err
	}
	at := 0
	if h.fresh {
		if at, err = h.beginLine(b, whole); err != nil || h.fresh {
			h.advance(at)
			return err
		}
	}
	h.recLine = h.line
	at, err = h.characters(b, at, whole)
	h.remember()
	h.advance(at)
	if err == nil && whole && at == len(b) {
		h.endLine()
	}
	return err
}

func (h *hexReader) advance(n int) {
	h.in.from += n
	h.col += int64(n)
}

// beginLine reads an offset, if there is to be one; it clears fresh when the
// rest of the line comes next.
func (h *hexReader) beginLine(b []byte, whole bool) (at int, err error) {
	at = blanks(b)
	if !whole && at > len(b)-columnBytes {
		return at, nil // an offset behind so many blanks may not be all here
	}
	switch {
	case h.layout == plain:
		h.pending = frame.Line
	case isEmpty(b):
	case isStar(b):
		if err := h.openStar(at); err != nil {
			return at, err
		}
		h.skipping = true
	default:
		if at, err = h.readOffset(b, at); err != nil || h.star.left > 0 {
			return 0, err // behind the repeated lines it is read again
		}
	}
	h.fresh = false
	return at, nil
}

// readOffset reads the offset of a line, which may first tell how often the
// line before is repeated.
func (h *hexReader) readOffset(b []byte, at int) (end int, err error) {
	text, l, end := cutOffset(b)
	switch {
	case l != h.layout:
		err = fmt.Errorf("no offset before %s: want one, as on the first line", quote(b[at:]))
	case h.offsets.fits == nil:
		h.offsets.begin(text, l)
	case h.star.open:
		h.star.open = false
		h.star.left, err = h.offsets.repeated(text, len(h.star.chars))
	default:
		if err = h.offsets.check(text); err != nil && isZero(text) {
			h.offsets.restart()
			h.pending, err = frame.Cut, nil
		}
	}
	if err != nil {
		return 0, h.errorAt(at, err)
	}
	return end, nil
}

// characters reads tokens and what stands between them. Of a line that is not
// all here it leaves as much as the longest ASCII column.
func (h *hexReader) characters(b []byte, at int, whole bool) (int, error) {
	limit := len(b)
	if !whole {
		limit -= columnBytes + 1
	}
	for (at < limit || h.token.open) && len(h.chars) < maxRecord {
		if h.skipping {
			return len(b), nil
		}
		if !h.token.open {
			at = h.singlePairs(b, at, limit)
			if at >= limit || len(h.chars) == maxRecord {
				break
			}
			if class[b[at]] == blank {
				h.countBlank(b[at])
				at++
				continue
			}
			if h.skipping = h.restMeansNothing(b[at:]); h.skipping {
				continue
			}
			h.gap = 0
			if c := class[b[at]]; c == separator || c == newline {
				at++
				continue
			}
		}
		next, err := h.readToken(b, at, whole)
		if err != nil || h.token.open {
			return next, err
		}
		at = next
	}
	return at, nil
}

// singlePairs reads what hex text mostly is: pairs with one blank behind each.
// It stops at anything else.
func (h *hexReader) singlePairs(b []byte, at, limit int) int {
	n, room := len(h.chars), maxRecord-len(h.chars)
	if h.gap >= 2 {
		return at
	}
	chars, columns := h.chars[n:n+room], h.columns[n:n+room]
	i := 0
	for ; i < room && at+2 < limit && b[at+2] == ' '; i++ {
		hi, lo := class[b[at]], class[b[at+1]]
		if hi|lo >= blank {
			break
		}
		chars[i], columns[i] = hi<<4|lo, h.col+int64(at)
		at += 3
	}
	if i > 0 {
		h.chars, h.columns, h.gap = h.chars[:n+i], h.columns[:n+i], 1
	}
	return at
}

// countBlank counts the blanks between two tokens; a tab is as good as two.
func (h *hexReader) countBlank(c byte) {
	h.gap++
	if c == '\t' {
		h.gap++
	}
}

// restMeansNothing reports whether a comment or an ASCII column begins here.
func (h *hexReader) restMeansNothing(b []byte) bool {
	switch n := h.lineChars + len(h.chars); {
	case class[b[0]] == comment:
		h.commented = true
		return true
	case n == 0:
		return false
	case class[b[0]] == bar:
		return true
	case h.gap < 2 || n > column:
		return false
	}
	text, ok := restOfLine(b)
	if !ok || h.layout == plain && onlyHex(text) {
		return false
	}
	return shows(text, append(h.seen, h.chars...))
}

// remember counts the record to what the line holds.
func (h *hexReader) remember() {
	if h.lineChars += len(h.chars); h.lineChars <= column {
		h.seen = append(h.seen, h.chars...)
	}
}

func (h *hexReader) endLine() {
	if h.lineChars > 0 {
		h.star.keep(h.seen, h.lineChars)
		h.offsets.add(h.lineChars)
	}
	h.seen, h.lineChars = h.seen[:0], 0
	h.line, h.col = h.line+1, 1
	h.fresh, h.skipping, h.gap = true, false, 0
}

// errorAt is an error at b[at] of the piece that is being read.
func (h *hexReader) errorAt(at int, err error) error {
	return &SyntaxError{Position{File: h.in.name, Line: h.line, Column: h.col + int64(at)}, err}
}
