package capture

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"
)

// What a capture can be instead of one. The error of Open wraps these.
var (
	ErrEmpty = errors.New("is empty")
	ErrUTF16 = errors.New("is UTF-16 text: want it saved as UTF-8")
)

var byteOrderMark = []byte("\xef\xbb\xbf")

// OpenWith begins to read a capture; name is for places and errors. What tells in
// words for the user what was found.
//
// A capture file says on its first line what it is. Where that line is damaged or
// lost, a later one like it tells, or two lines one behind the other whose CRCs
// are right. Found is hex when everything in the first 64 KiB, or in all of a
// shorter input, can be read as hex text, digits or a comment among it; so raw
// bytes that are all ASCII hex digits, even in number, must be called raw.
// Something else further on is an error then, and so it is anywhere in a dump:
// what begins with an offset is one. What is in a format of o.Also is found by its first
// bytes, or where nothing plainer was found. To find out, Open waits for the 64 KiB or the
// end of the input; when as is given, at most for the first two lines.
func OpenWith(r io.Reader, name string, o Options) (rd Reader, what string, err error) {
	if err := o.Check(); err != nil {
		return nil, "", err
	}
	in := newInput(r, name)
	if !in.more() {
		if in.err == io.EOF {
			return nil, "", fmt.Errorf("%s %w", name, ErrEmpty)
		}
		return nil, "", in.err
	}
	plain, packing, err := in.unpack(o.most())
	if err != nil {
		return nil, "", err
	}
	if packing != "" && !plain.more() {
		if plain.err == io.EOF {
			return nil, "", fmt.Errorf("%s %w", name, ErrEmpty)
		}
		return nil, "", plain.err
	}
	if rd, what, err = o.open(plain); err == nil && o.Inverted && !hasLevels(rd) {
		return nil, "", fmt.Errorf("%s is %s, which has no levels to invert", name, what)
	}
	if err == nil && o.Columns != "" && o.forced() == nil && !hasColumns(rd) {
		return nil, "", fmt.Errorf("%s is %s, which has no columns to choose", name, what)
	}
	if packing != "" {
		what = packing + " of " + what
	}
	return rd, what, err
}

func hasColumns(rd Reader) bool {
	switch rd.(type) {
	case *vcdReader, *csvReader:
		return true
	}
	return false
}

func hasLevels(rd Reader) bool {
	switch rd := rd.(type) {
	case *vcdReader:
		return true
	case *csvReader:
		return rd.signals != nil
	}
	return false
}

// open begins to read what is no longer compressed.
func (o *Options) open(in *input) (rd Reader, what string, err error) {
	switch o.As {
	case "raw":
		return &rawReader{in: in}, "raw bytes", nil
	case "hex":
		return openHex(in)
	case "capture":
		return openFile(in)
	case "csv":
		return openCSV(in, *o)
	case "vcd":
		return openVCD(in, *o)
	case "log":
		return openLog(in, *o)
	case "pcap":
		return openPackets(in)
	case "json":
		return openJSON(in)
	}
	if f := o.forced(); f != nil {
		return f.Open(in, in.name)
	}
	if o.Pattern != "" {
		return openLog(in, *o)
	}
	if f := o.begins(in); f != nil {
		return f.Open(in, in.name)
	}
	switch {
	case isFile(in):
		return openFile(in)
	case isPackets(in):
		return openPackets(in)
	case isJSON(in):
		return openJSON(in)
	}
	return detect(in, *o)
}

// begins is the format among Also that an input begins with; nil for none. It waits
// for no more than can be a capture file.
func (o *Options) begins(in *input) *Format {
	const enough = 12
	for len(o.Also) > 0 && len(in.unread()) < enough && in.more() {
	}
	return o.other(func(f *Format) bool { return f.Is(in.unread(), false) })
}

// openHex reads on until the layout is known.
func openHex(in *input) (Reader, string, error) {
	if isUTF16(in) {
		return nil, "", fmt.Errorf("%s %w", in.name, ErrUTF16)
	}
	l, known := layoutOf(text(in), false)
	for !known && moreLines(in) {
		l, known = layoutOf(text(in), false)
	}
	if !known {
		l, _ = layoutOf(text(in), true)
	}
	skipByteOrderMark(in)
	return newHexReader(in, l), l.what(), nil
}

// moreLines reads on until another line is all there.
func moreLines(in *input) bool {
	for at := len(in.unread()); in.more(); at = len(in.unread()) {
		if bytes.IndexByte(in.unread()[at:], '\n') >= 0 {
			return true
		}
	}
	return false
}

// detect tells by the first chunk what the input is.
func detect(in *input, o Options) (Reader, string, error) {
	for in.more() {
	}
	if isUTF16(in) {
		return nil, "", fmt.Errorf("%s %w", in.name, ErrUTF16)
	}
	switch {
	case isDamagedFile(text(in)):
		return openFile(in)
	case isVCD(text(in)):
		return openVCD(in, o)
	case o.Columns != "":
		return openCSV(in, o)
	}
	l, _ := layoutOf(text(in), true)
	if l == plain {
		if err := tryHex(in); err != nil {
			rd, what, csv := tryCSV(in, o)
			analog := func(f *Format) bool { return f.Is(text(in), true) }
			switch f := o.other(analog); {
			case csv == nil:
				return rd, what, nil
			case f != nil:
				return f.Open(in, in.name)
			case errors.Is(csv, errWires):
				return &rawReader{in: in}, fmt.Sprintf("raw bytes (no CSV: %v)", csv), nil
			}
			return &rawReader{in: in}, "raw bytes" + whyNotHex(in.unread(), err), nil
		}
	}
	skipByteOrderMark(in)
	return newHexReader(in, l), l.what(), nil
}

// tryHex is what is wrong with the chunk as hex text.
func tryHex(in *input) error {
	err := in.err
	if err == nil {
		err = errGoesOn
	}
	try := in.lookahead(err)
	skipByteOrderMark(try)
	h := newHexReader(try, plain)
	found := false
	for rec := new(Record); ; found = true {
		if err := h.Next(rec); err != nil {
			if found = found || h.commented; found && !errors.As(err, new(*SyntaxError)) {
				return nil
			}
			return err
		}
	}
}

// errGoesOn stands behind a chunk that is not all of the input.
var errGoesOn = errors.New("input goes on")

// whyNotHex is for the user who sees text where raw bytes are read.
func whyNotHex(b []byte, err error) string {
	var syntax *SyntaxError
	if !errors.As(err, &syntax) || !isText(b) {
		return ""
	}
	return fmt.Sprintf(" (no hex text: line %d, column %d: %v)", syntax.Line, syntax.Column, syntax.Err)
}

// isText reports whether b, which may end inside a character, looks like text.
func isText(b []byte) bool {
	for len(b) > 0 {
		r, size := utf8.DecodeRune(b)
		if r == utf8.RuneError && size == 1 && utf8.FullRune(b) || r < ' ' && class[byte(r)] == other {
			return false
		}
		b = b[size:]
	}
	return true
}

// isLatin reports whether b looks like text of which the characters beyond ASCII are
// those of Latin-1, or whatever else is not control.
func isLatin(b []byte) bool {
	return !bytes.ContainsFunc(b, func(r rune) bool { return r < ' ' && class[byte(r)] == other })
}

// isUTF16 reports whether the input is text in UTF-16: its mark, and then every
// second byte 0. The mark alone could be a damaged preamble.
func isUTF16(in *input) bool {
	const enough = 64
	var zero int // which byte of two
	for in.unread()[0] >= 0xfe && len(in.unread()) < enough && in.more() {
	}
	switch b := in.unread(); {
	case bytes.HasPrefix(b, []byte("\xff\xfe")):
		zero = 1
	case !bytes.HasPrefix(b, []byte("\xfe\xff")):
		return false
	}
	units := in.unread()[2:min(len(in.unread()), enough)]
	for i := 0; i+1 < len(units); i += 2 {
		if units[i+zero] != 0 || units[i+1-zero] == 0 {
			return false
		}
	}
	return len(units) > 1
}

// text is what is unread, without a byte order mark.
func text(in *input) []byte { return bytes.TrimPrefix(in.unread(), byteOrderMark) }

func skipByteOrderMark(in *input) { in.from += len(in.unread()) - len(text(in)) }
