package capture

import "errors"

// star is the * by which a dump leaves out lines that repeat the one before.
type star struct {
	chars        []byte // of the last line; empty where there is none, or it is too long
	open         bool   // a * was read, but not the offset behind it
	line, column int64  // where it stands
	left         int    // characters that it stands for and that are still to come
}

var (
	errNoLine   = errors.New(`"*" repeats the line before it: want one, of at most 256 characters`)
	errNoOffset = errors.New(`"*" stands for repeated lines: want an offset behind it that tells how many`)
)

// keep remembers a line that could be repeated.
func (s *star) keep(seen []byte, chars int) {
	s.chars = s.chars[:0]
	if chars == len(seen) {
		s.chars = append(s.chars, seen...)
	}
}

func (s *star) unfinished(file string) error {
	return &SyntaxError{Position{File: file, Line: s.line, Column: s.column}, errNoOffset}
}

func (h *hexReader) openStar(at int) error {
	if len(h.star.chars) == 0 {
		return h.errorAt(at, errNoLine)
	}
	h.star.open, h.star.line, h.star.column = true, h.line, h.col+int64(at)
	return nil
}

// repeat fills the record with whole repeated lines.
func (h *hexReader) repeat() {
	s := &h.star
	for s.left > 0 && len(h.chars)+len(s.chars) <= maxRecord {
		h.chars = append(h.chars, s.chars...)
		for range s.chars {
			h.columns = append(h.columns, s.column)
		}
		s.left -= len(s.chars)
	}
	h.recLine = s.line
	h.offsets.add(len(h.chars))
}
