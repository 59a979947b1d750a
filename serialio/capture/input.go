package capture

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"slices"
)

const (
	chunk = 64 << 10 // what detection looks at, and the size of the buffer
	reach = 4 << 10  // how much of a long line is seen at once, at least
)

// input is a buffer in front of a reader.
type input struct {
	name     string // of the file
	r        io.Reader
	buf      []byte
	from, to int   // what is unread
	err      error // io.EOF, or what kept r from reading
}

func newInput(r io.Reader, name string) *input {
	return &input{name: name, r: r, buf: make([]byte, chunk)}
}

func (in *input) unread() []byte { return in.buf[in.from:in.to] }

// more reads something behind what is unread; false at an error or when the
// buffer is full.
func (in *input) more() bool {
	if in.from > 0 {
		in.to = copy(in.buf, in.unread())
		in.from = 0
	}
	if in.err != nil || in.to == len(in.buf) {
		return false
	}
	n, err := readSome(in.r, in.buf[in.to:])
	if err != nil && err != io.EOF {
		err = fmt.Errorf("read %s: %w", in.name, withoutPath(err))
	}
	in.to, in.err = in.to+n, err
	return n > 0
}

// readSome reads at least one byte, or fails.
func readSome(r io.Reader, b []byte) (n int, err error) {
	for range 100 {
		if n, err = r.Read(b); n > 0 || err != nil {
			return n, err
		}
	}
	return 0, io.ErrNoProgress
}

// withoutPath is err without the operation and the file that os puts before it.
func withoutPath(err error) error {
	if path := (*fs.PathError)(nil); errors.As(err, &path) {
		return path.Err
	}
	return err
}

// piece is the unread line, with its line end if there is one, or at least
// reach bytes of it: whole tells which. What stands before an error of the
// reader other than io.EOF is no piece, as nobody knows how it goes on.
func (in *input) piece() (b []byte, whole bool, err error) {
	for {
		b = in.unread()
		if i := bytes.IndexByte(b, '\n'); i >= 0 {
			return b[:i+1], true, nil
		}
		if len(b) >= reach {
			return b, false, nil
		}
		if !in.more() {
			break
		}
	}
	if in.err == io.EOF && in.to > in.from {
		return in.unread(), true, nil
	}
	return nil, false, in.err
}

// lookahead is an input of its own on what is unread; behind it stands err.
func (in *input) lookahead(err error) *input {
	buf := slices.Clone(in.unread())
	return &input{name: in.name, buf: buf, to: len(buf), err: err}
}

// line takes the next line, without its end. One that does not fit the buffer is
// passed over and not whole. What stands before an error of the reader other than
// io.EOF is no line, as nobody knows how it goes on.
func (in *input) line() (b []byte, whole bool, err error) {
	whole = true
	for seen := 0; ; {
		b = in.unread()
		if i := bytes.IndexByte(b[seen:], '\n'); i >= 0 {
			b = b[:seen+i]
			in.from += len(b) + 1
			return bytes.TrimSuffix(b, []byte("\r")), whole, nil
		}
		if seen = len(b); in.more() {
			continue
		}
		if in.err != nil {
			break
		}
		in.from, seen, whole = in.to, 0, false
	}
	b = in.unread() // which has moved
	if in.err == io.EOF && (len(b) > 0 || !whole) {
		in.from = in.to
		return b, whole, nil
	}
	return nil, false, in.err
}
