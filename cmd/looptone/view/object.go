package view

import (
	"encoding/hex"
	"slices"
	"strconv"
	"time"
	"unicode/utf8"
)

// An object is JSON that is being written, within an object. Nothing of it
// allocates beside the bytes themselves.
type object struct {
	b     []byte
	known *JSON // what was written before, for objects that are messages
}

// say writes text as it is.
func (o *object) say(text string) { o.b = append(o.b, text...) }

// number writes a whole number.
func (o *object) number(n int64) {
	if n >= 0 && n < 10 {
		o.b = append(o.b, '0'+byte(n))
		return
	}
	o.b = strconv.AppendInt(o.b, n, 10)
}

// key begins a member. Names come with their quotation marks and the colon, as in
// `"kind":`, so that they are written at once.
func (o *object) key(name string) {
	if o.b[len(o.b)-1] != '{' {
		o.b = append(o.b, ',')
	}
	o.b = append(o.b, name...)
}

// open begins a member that is an object, up to close.
func (o *object) open(name string) {
	o.key(name)
	o.b = append(o.b, '{')
}

func (o *object) close() { o.b = append(o.b, '}') }

func (o *object) int(name string, n int64) {
	o.key(name)
	o.number(n)
}

// seconds writes d to the microsecond.
func (o *object) seconds(name string, d time.Duration) {
	o.key(name)
	o.b = appendSeconds(o.b, d)
}

// appendSeconds writes d in seconds to the microsecond, without zeros at its end.
func appendSeconds(dst []byte, d time.Duration) []byte {
	us := d.Round(time.Microsecond).Microseconds()
	if us < 0 {
		dst, us = append(dst, '-'), -us
	}
	dst = strconv.AppendInt(dst, us/1e6, 10)
	rest := us % 1e6
	if rest == 0 {
		return dst
	}
	dst = append(dst, '.')
	for place := int64(1e5); rest > 0; place /= 10 {
		dst = append(dst, '0'+byte(rest/place))
		rest %= place
	}
	return dst
}

func (o *object) bool(name string, v bool) {
	o.key(name)
	o.b = strconv.AppendBool(o.b, v)
}

func (o *object) null(name string) {
	o.key(name)
	o.b = append(o.b, "null"...)
}

// plain writes a text of letters, which needs no escaping.
func (o *object) plain(name, s string) {
	o.key(name)
	o.b = append(o.b, '"')
	o.b = append(o.b, s...)
	o.b = append(o.b, '"')
}

func (o *object) text(name, s string) {
	o.key(name)
	o.string(s)
}

func (o *object) string(s string) {
	start := len(o.b)
	o.b = append(o.b, '"')
	o.b = append(o.b, s...)
	o.endString(start)
}

// endString ends a string that begins at start, with its quotation mark, and
// escapes what needs it.
func (o *object) endString(start int) {
	for _, c := range o.b[start+1:] {
		if escapes[c] {
			o.escape(start)
			break
		}
	}
	o.b = append(o.b, '"')
}

// escapes are the bytes that do not stand in a JSON string as they are, or may
// not: those of other than ASCII are fine where they are UTF-8.
var escapes = func() (is [256]bool) {
	for c := range is {
		is[c] = c < ' ' || c == '"' || c == '\\' || c >= utf8.RuneSelf
	}
	return is
}()

func (o *object) escape(start int) {
	s := string(o.b[start+1:])
	o.b = o.b[:start+1]
	for _, r := range s { // what is no UTF-8 comes as U+FFFD
		switch {
		case r == '"' || r == '\\':
			o.b = append(o.b, '\\', byte(r))
		case r < ' ':
			o.b = append(o.b, `\u00`...)
			o.b = hex.AppendEncode(o.b, []byte{byte(r)})
		default:
			o.b = utf8.AppendRune(o.b, r)
		}
	}
}

func (o *object) hex(name string, b []byte) {
	o.key(name)
	o.b = append(o.b, '"')
	start := len(o.b)
	o.b = slices.Grow(o.b, 2*len(b)+1)[:start+2*len(b)]
	digits := o.b[start:]
	for i, c := range b {
		*(*[2]byte)(digits[2*i:]) = hexDigits[c]
	}
	o.b = append(o.b, '"')
}

// hexDigits are the two digits of each byte.
var hexDigits = func() (digits [256][2]byte) {
	for c := range digits {
		hex.Encode(digits[c][:], []byte{byte(c)})
	}
	return digits
}()

func (o *object) texts(name string, list []string) {
	o.key(name)
	o.b = append(o.b, '[')
	for i, s := range list {
		if i > 0 {
			o.b = append(o.b, ',')
		}
		o.string(s)
	}
	o.b = append(o.b, ']')
}
