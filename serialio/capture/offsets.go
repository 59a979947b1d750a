package capture

import (
	"fmt"
	"strconv"
)

// offsets follows the offset column of a dump. Its base is not known in
// advance: those stay that fit what was read.
type offsets struct {
	fits []base // the likely one first
	room [3]base
}

type base struct {
	radix uint64
	want  uint64 // the next offset, counted in this base
}

// begin takes the first offset. Seven bare digits are octal or decimal by the
// habits of od; others are hex, or decimal before a colon.
func (o *offsets) begin(text []byte, l layout) {
	radixes := []uint64{16}
	switch {
	case l == colon:
		radixes = []uint64{16, 10}
	case len(text) == 7:
		radixes = []uint64{8, 10, 16}
	}
	o.fits = o.room[:0]
	for _, radix := range radixes {
		if v, ok := value(text, radix); ok {
			o.fits = append(o.fits, base{radix, v})
		}
	}
}

// add counts characters behind the last offset.
func (o *offsets) add(chars int) {
	for i := range o.fits {
		o.fits[i].want += uint64(chars)
	}
}

// check compares an offset with what was counted, in every base that is left.
// When none fits they all stay.
func (o *offsets) check(text []byte) error {
	n := 0
	for _, b := range o.fits {
		if v, ok := value(text, b.radix); ok && v == b.want {
			o.fits[n] = b
			n++
		}
	}
	if n == 0 {
		b := o.fits[0]
		want := strconv.FormatUint(b.want, int(b.radix))
		return fmt.Errorf("offset %s does not continue the line before: want %0*s", text, len(text), want)
	}
	o.fits = o.fits[:n]
	return nil
}

// restart begins another dump at 0.
func (o *offsets) restart() {
	for i := range o.fits {
		o.fits[i].want = 0
	}
}

const maxRepeat = 1 << 20 // characters; more is no capture of a line

// repeated is how many characters a * stood for when text is the offset behind
// it and the repeated line has line characters. Bases that disagree are an
// error, as nothing is guessed.
func (o *offsets) repeated(text []byte, line int) (chars int, err error) {
	n, found := 0, uint64(0)
	for _, b := range o.fits {
		v, ok := value(text, b.radix)
		if !ok || v <= b.want || (v-b.want)%uint64(line) != 0 {
			continue
		}
		if n > 0 && v-b.want != found {
			return 0, fmt.Errorf(`"*" before offset %s stands for %d or %d characters: `+
				`want every line in the dump (option -v of od and hexdump)`, text, found, v-b.want)
		}
		found = v - b.want
		o.fits[n] = b
		n++
	}
	switch {
	case n == 0:
		return 0, fmt.Errorf(`offset %s does not fit the "*" before it: want a multiple of its %d characters`, text, line)
	case found > maxRepeat:
		return 0, fmt.Errorf(`"*" before offset %s stands for %d characters, want at most %d`, text, found, maxRepeat)
	}
	o.fits = o.fits[:n]
	return int(found), nil
}

// value reads at most 16 digits.
func value(text []byte, radix uint64) (v uint64, ok bool) {
	for _, c := range text {
		d := uint64(class[c])
		if d >= radix {
			return 0, false
		}
		v = v*radix + d
	}
	return v, true
}

func isZero(text []byte) bool {
	v, ok := value(text, 16)
	return ok && v == 0
}
