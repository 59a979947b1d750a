package capture

import (
	"bytes"
	"errors"
	"io"
)

// wordReader cuts an input at blanks and line ends.
type wordReader struct {
	in        *input
	line, col int64 // of what is unread, from 1
}

var errWordLong = errors.New("word does not end: want at most 65535 bytes")

// next is the next word, valid until the call behind it, and where it stands.
func (w *wordReader) next() (word []byte, at Position, err error) {
	if err := w.skipBlanks(); err != nil {
		return nil, Position{}, err
	}
	at = Position{File: w.in.name, Line: w.line, Column: w.col}
	for seen := 0; ; {
		b := w.in.unread()
		if i := bytes.IndexFunc(b[seen:], isBlank); i >= 0 {
			word = b[:seen+i]
			break
		}
		if seen = len(b); w.in.more() {
			continue
		}
		if w.in.err == nil {
			return nil, at, &SyntaxError{at, errWordLong}
		}
		if w.in.err != io.EOF {
			return nil, at, w.in.err
		}
		word = w.in.unread()
		break
	}
	w.in.from += len(word)
	w.col += int64(len(word))
	return word, at, nil
}

func isBlank(r rune) bool { return r <= ' ' }

func (w *wordReader) skipBlanks() error {
	for {
		for _, c := range w.in.unread() {
			if c > ' ' {
				return nil
			}
			w.in.from++
			if w.col++; c == '\n' {
				w.line, w.col = w.line+1, 1
			}
		}
		if !w.in.more() {
			return w.in.err
		}
	}
}
