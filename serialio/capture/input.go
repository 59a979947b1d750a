package capture

import (
	"bytes"
	"io"
	"slices"
)

const (
	chunk = 64 << 10 // what detection looks at, and the size of the buffer
	reach = 4 << 10  // how much of a long line is seen at once, at least
)

// input is a buffer in front of a reader.
type input struct {
	r        io.Reader
	buf      []byte
	from, to int   // what is unread
	err      error // of r
}

func newInput(r io.Reader) *input { return &input{r: r, buf: make([]byte, chunk)} }

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
	n := 0
	for tries := 0; n == 0 && in.err == nil; tries++ {
		if tries == 100 {
			in.err = io.ErrNoProgress
			break
		}
		n, in.err = in.r.Read(in.buf[in.to:])
	}
	in.to += n
	return n > 0
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
	return &input{buf: buf, to: len(buf), err: err}
}
