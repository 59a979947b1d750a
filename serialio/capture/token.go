package capture

import (
	"errors"
	"fmt"
	"unicode/utf8"
)

// What hex text can have in the place of a character.
var (
	errNoByte = errors.New("is no hex byte: want two hex digits")
	errWords  = errors.New("holds several bytes in an order that depends on the machine: " +
		"want single bytes, as od -t x1 and hexdump -C write them")
)

const (
	shown = 16              // how much of a token an error shows
	pair  = 2 * utf8.UTFMax // what an error about a pair has to see
)

// token is pairs of digits run together, of any length.
type token struct {
	open   bool // it goes on at what is unread
	column int64
	text   []byte // its beginning, as far as it is not here any more
}

// readToken reads a token that is open or begins at b[at], as far as it is here
// and fits the record.
func (h *hexReader) readToken(b []byte, at int, whole bool) (next int, err error) {
	begin := at
	if !h.token.open {
		if at, err = h.openToken(b, at); err != nil {
			return at, err
		}
	}
	for len(h.chars) < maxRecord && (whole || len(b)-at >= pair) {
		hi, lo := classAt(b, at), classAt(b, at+1)
		switch {
		case hi < blank && lo < blank:
			h.chars = append(h.chars, hi<<4|lo)
			h.columns = append(h.columns, h.col+int64(at))
			at += 2
		case endsToken(hi):
			h.token.open = false
			return at, nil
		case hi < blank && endsToken(lo):
			h.token.keep(b[begin : at+1])
			return at, h.oddDigits()
		default:
			return at, h.noByte(b, at)
		}
	}
	h.token.keep(b[begin:at])
	return at, nil
}

// openToken passes over 0x. In a dump without colons it insists on single
// bytes: words are written there in the order of the machine.
func (h *hexReader) openToken(b []byte, at int) (next int, err error) {
	next = len(b) - len(cutPrefix(b[at:]))
	n := digits(b[next:])
	switch {
	case n == 0:
		return at, h.noByte(b, at)
	case h.layout == bare && n > 2 && (n > shown || n%2 == 0 && endsToken(classAt(b, next+n))):
		return at, h.errorAt(at, fmt.Errorf("%s %w", quote(b[at:]), errWords))
	}
	h.token = token{open: true, column: h.col + int64(at), text: h.token.text[:0]}
	return next, nil
}

func (h *hexReader) noByte(b []byte, at int) error {
	return h.errorAt(at, fmt.Errorf("%q %w", onePair(b[at:]), errNoByte))
}

// keep remembers the beginning of a token, and one byte more.
func (t *token) keep(b []byte) {
	t.text = append(t.text, b[:min(len(b), shown+1-len(t.text))]...)
}

func (h *hexReader) oddDigits() error {
	return &SyntaxError{Position{File: h.in.name, Line: h.line, Column: h.token.column},
		fmt.Errorf("odd number of hex digits in %s", quote(h.token.text))}
}

// classAt is the class of b[i]; behind the end of b stands the end of a line.
func classAt(b []byte, i int) uint8 {
	if i < len(b) {
		return class[b[i]]
	}
	return newline
}

// quote is the token that b begins with in quotes, its beginning if it is long.
func quote(b []byte) string {
	n := 0
	for n < len(b) && !endsToken(class[b[n]]) {
		n++
	}
	if n > shown {
		return fmt.Sprintf("%q…", b[:shown])
	}
	return fmt.Sprintf("%q", b[:n])
}

// onePair is the first two characters of a token, or the only one.
func onePair(b []byte) []byte {
	_, n := utf8.DecodeRune(b)
	if endsToken(classAt(b, n)) {
		return b[:n]
	}
	_, second := utf8.DecodeRune(b[n:])
	return b[:n+second]
}
