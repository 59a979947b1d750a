package capture

import (
	"bytes"
	"unicode/utf8"
)

// column is how many characters a line with an ASCII column has at most, and
// columnBytes how long that column is then.
const (
	column      = 256
	columnBytes = utf8.UTFMax * column
)

// shows reports whether text, which begins behind blanks, is what the ASCII
// column of a dump shows of chars: a printable character as it is, anything
// else as some filler that is neither letter nor digit. Blanks may be missing
// at its end.
func shows(text, chars []byte) bool {
	text = bytes.TrimRight(text, " \t\r\n")
	chars = bytes.TrimLeft(chars, " ")
	for len(text) > 0 {
		r, size := utf8.DecodeRune(text)
		if len(chars) == 0 || !stands(r, chars[0]) {
			return false
		}
		text, chars = text[size:], chars[1:]
	}
	for _, c := range chars {
		if !stands(' ', c) {
			return false
		}
	}
	return true
}

// stands reports whether r can stand for c in an ASCII column.
func stands(r rune, c byte) bool {
	if c >= 0x20 && c < 0x7f {
		return r == rune(c)
	}
	return !('0' <= r && r <= '9' || 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z')
}

// onlyHex reports whether text holds nothing but hex digits and what may stand
// between them.
func onlyHex(text []byte) bool {
	for _, c := range text {
		if class[c] > newline {
			return false
		}
	}
	return true
}

// restOfLine is b up to the end of its line, if an ASCII column can be that
// long.
func restOfLine(b []byte) (text []byte, ok bool) {
	near := b[:min(len(b), columnBytes+1)]
	if end := bytes.IndexByte(near, '\n'); end >= 0 {
		return near[:end], true
	}
	return b, len(b) <= columnBytes
}
