package capture

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/klauspost/compress/zstd"
)

// MostRead is how much of a capture is read where nobody says otherwise, counted in
// bytes behind decompression: a few kilobytes can be packed so that they never end.
const MostRead = 64 << 30

// A packing is a way to compress a file.
type packing struct {
	name  string
	magic string // what the file begins with
	open  func(io.Reader) (io.Reader, error)
}

// Source: RFC 1952, section 2.3.1 (gzip); RFC 8878, section 3.1.1 (Zstandard).
var packings = [...]packing{
	{"gzip", "\x1f\x8b\x08", func(r io.Reader) (io.Reader, error) { return gzip.NewReader(r) }},
	{"zstd", "\x28\xb5\x2f\xfd", openZstd},
}

// mostWindow is how far back compressed data may refer, and so about what reading them
// takes in memory: as much as the tool of the format takes unless it is told otherwise.
const mostWindow = 128 << 20

// openZstd reads without any goroutine, so that nobody has to end one.
func openZstd(r io.Reader) (io.Reader, error) {
	return zstd.NewReader(r, zstd.WithDecoderConcurrency(1), zstd.WithDecoderLowmem(true), zstd.WithDecoderMaxWindow(mostWindow))
}

// Unpack reads a file that may be packed, as [OpenWith] does: no more than most bytes of
// it, counted behind decompression. how is the name of the packing; "" for none. It is for
// who reads something else than a capture.
func Unpack(r io.Reader, name string, most int64) (plain io.Reader, how string, err error) {
	in, how, err := newInput(r, name).unpack(most)
	if err != nil {
		return nil, "", err
	}
	return in, how, nil
}

// unpack puts a decompressor in front of what is compressed, and a limit in front of
// everything. how is the name of the packing; "" for none.
func (in *input) unpack(most int64) (plain *input, how string, err error) {
	for i := range packings {
		p := &packings[i]
		if !in.begins(p.magic) {
			continue
		}
		r, err := p.open(in)
		if err != nil {
			return nil, "", fmt.Errorf("read %s: %w", in.name, p.failed(in, err))
		}
		return newInput(&limited{r: &unpacking{in, p, r}, left: most, most: most}, in.name), p.name, nil
	}
	in.limit(most)
	return in, "", nil
}

// limit lets no more be read than so much.
func (in *input) limit(most int64) {
	left := most - int64(len(in.unread()))
	if left < 0 {
		in.to += int(left)
		in.err = fmt.Errorf("read %s: %w", in.name, &TooLargeError{Most: most})
		return
	}
	in.r = &limited{r: in.r, left: left, most: most}
}

// begins reports whether what is unread begins with magic. It waits for no more than
// can decide that.
func (in *input) begins(magic string) bool {
	for len(in.unread()) < len(magic) && bytes.HasPrefix([]byte(magic), in.unread()) && in.more() {
	}
	return bytes.HasPrefix(in.unread(), []byte(magic))
}

// Read reads what is unread, and then on, for who reads an input as a whole.
func (in *input) Read(b []byte) (int, error) {
	if len(in.unread()) == 0 && !in.more() {
		return 0, in.err
	}
	n := copy(b, in.unread())
	in.from += n
	return n, nil
}

// unpacking reads what a decompressor gives.
type unpacking struct {
	in *input
	*packing
	r io.Reader
}

func (u *unpacking) Read(b []byte) (int, error) {
	n, err := u.r.Read(b)
	if err != nil && err != io.EOF {
		err = u.failed(u.in, err)
	}
	return n, err
}

var errBreaksOff = errors.New("the compressed data break off")

// failed is what went wrong with a decompressor: the file under it, if that cannot be
// read; else the file is damaged.
func (p *packing) failed(in *input, err error) error {
	switch {
	case in.err != nil && in.err != io.EOF:
		return errors.Unwrap(in.err) // which says already what was being read
	case errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF):
		return fmt.Errorf("%s: %w", p.name, errBreaksOff)
	}
	return fmt.Errorf("%s data are damaged: %s", p.name, strings.TrimPrefix(err.Error(), p.name+": "))
}

// limited reads so much, and no more.
type limited struct {
	r          io.Reader
	left, most int64
}

func (l *limited) Read(b []byte) (int, error) {
	if l.left < 0 {
		return 0, &TooLargeError{Most: l.most}
	}
	n, err := l.r.Read(b[:min(int64(len(b)), l.left+1)])
	if l.left -= int64(n); l.left < 0 { // one byte more shows that there is more
		return n - 1, &TooLargeError{Most: l.most}
	}
	return n, err
}

// A TooLargeError says that a capture holds more than is to be read.
type TooLargeError struct{ Most int64 } // bytes, behind decompression

func (e *TooLargeError) Error() string {
	return "more than " + sizeText(e.Most) + " in it, of which the rest is not read"
}

// sizeText is a size in the largest unit in which it is whole.
func sizeText(n int64) string {
	units := [...]string{"bytes", "KiB", "MiB", "GiB", "TiB"}
	i := 0
	for ; n >= 1024 && n%1024 == 0 && i < len(units)-1; i++ {
		n /= 1024
	}
	return fmt.Sprintf("%d %s", n, units[i])
}
