package capture

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
)

// vcdReader reads a value change dump: levels of signals, and with them the characters
// that are on their wires.
//
// Source: IEEE Std 1364-2005, section 18.2 (four-state VCD file).
type vcdReader struct {
	words   wordReader
	err     error
	power   int // of ten: a unit of time in nanoseconds
	now     time.Duration
	signals *signals
	taps    map[string][]tap // by the identifier code of what they tap
	until   string           // everything up to this word means nothing; "" for no such word
}

// tap is where a wire is in what a dump calls a variable.
type tap struct {
	wire int
	bit  int // of how many from the right
}

var (
	errDump      = errors.New("is nothing that a VCD holds behind its definitions: want a time like #120, or a change like 1! or like b01 ! with a blank")
	errTimes     = errors.New("time lies before the one in front of it")
	errDumpTime  = errors.New("is no time of a VCD: want # and a whole number")
	errNoCode    = errors.New("identifier code is missing behind the value")
	errFourState = errors.New("is no value of a VCD: want 0, 1, x or z")
)

func (r *vcdReader) Next(rec *Record) error {
	for !r.signals.next(rec) {
		if r.err != nil {
			return r.err
		}
		if r.err = r.step(); r.err == io.EOF {
			r.signals.end()
		}
	}
	return nil
}

// Told is what is to be said at the end.
func (r *vcdReader) Told() string { return r.signals.told() }

// step takes a word, and what belongs to it.
func (r *vcdReader) step() error {
	word, at, err := r.words.next()
	switch {
	case err != nil:
		return err
	case r.until != "":
		if string(word) == r.until {
			r.until = ""
		}
		return nil
	}
	switch word[0] {
	case '#':
		return r.time(word, at)
	case '$':
		return r.section(word, at)
	case 'b', 'B':
		return r.vector(word[1:], at)
	case 'r', 'R', 's', 'S': // a number or a text, which is no level
		_, _, err := r.code(at)
		return err
	}
	to, known := levelOf(word[0])
	switch {
	case !known:
		return &SyntaxError{at, fmt.Errorf("%q %w", shortened(string(word)), errDump)}
	case len(word) == 1:
		return &SyntaxError{at, errNoCode}
	}
	for _, t := range r.taps[string(word[1:])] {
		if t.bit == 0 {
			r.signals.change(t.wire, r.now, to, at)
		}
	}
	return nil
}

// section takes a word that begins with $. Those around a dump of all values mean
// nothing, for the values stand there as everywhere.
func (r *vcdReader) section(word []byte, at Position) error {
	switch string(word) {
	case "$dumpvars", "$dumpall", "$dumpon", "$dumpoff", "$end":
	case "$comment", "$vcdclose":
		r.until = "$end"
	default:
		return &SyntaxError{at, fmt.Errorf("%q %w", shortened(string(word)), errDump)}
	}
	return nil
}

func (r *vcdReader) time(word []byte, at Position) error {
	value, places, ok := readDigits(string(word[1:]))
	if !ok || places > 0 || bytes.IndexByte(word, '.') >= 0 || bytes.IndexByte(word, ',') >= 0 {
		return &SyntaxError{at, fmt.Errorf("%q %w", shortened(string(word)), errDumpTime)}
	}
	now, ok := scaled(value, r.power)
	switch {
	case !ok || now > longest:
		return &SyntaxError{at, fmt.Errorf("%q %w", shortened(string(word)), errFar)}
	case now < r.now:
		return &SyntaxError{at, errTimes}
	}
	r.now = now
	r.signals.until(now)
	return nil
}

// vector takes the bits of a variable, the last one on the right. On the left, the
// first one is repeated if it is x or z, else there are zeros.
func (r *vcdReader) vector(value []byte, at Position) error {
	for _, c := range value {
		if _, known := levelOf(c); !known {
			return &SyntaxError{at, fmt.Errorf("%q %w", shortened(string(value)), errFourState)}
		}
	}
	if len(value) == 0 {
		return &SyntaxError{at, fmt.Errorf("%q %w", "b", errFourState)}
	}
	value = slices.Clone(value) // the code behind it may take its place
	code, _, err := r.code(at)
	if err != nil {
		return err
	}
	for _, t := range r.taps[string(code)] {
		to := low
		if i := len(value) - 1 - t.bit; i >= 0 {
			to, _ = levelOf(value[i])
		} else if first, _ := levelOf(value[0]); first == unknown {
			to = unknown
		}
		r.signals.change(t.wire, r.now, to, at)
	}
	return nil
}

// code takes the identifier code behind a value that stands at at.
func (r *vcdReader) code(value Position) (code []byte, at Position, err error) {
	code, at, err = r.words.next()
	if err == io.EOF {
		err = &SyntaxError{value, errNoCode}
	}
	return code, at, err
}

func levelOf(c byte) (to level, known bool) {
	switch c {
	case '0':
		return low, true
	case '1':
		return high, true
	case 'x', 'X', 'z', 'Z':
		return unknown, true
	}
	return unknown, false
}

// isVCD reports whether text begins as a value change dump does.
func isVCD(text []byte) bool {
	text = bytes.TrimLeft(text, " \t\r\n")
	for _, word := range []string{"$date", "$version", "$comment", "$timescale", "$scope", "$var"} {
		if rest, ok := bytes.CutPrefix(text, []byte(word)); ok && (len(rest) == 0 || rest[0] <= ' ') {
			return true
		}
	}
	return false
}

func openVCD(in *input, o Options) (Reader, string, error) {
	if isUTF16(in) {
		return nil, "", fmt.Errorf("%s %w", in.name, ErrUTF16)
	}
	skipByteOrderMark(in)
	want, err := vcdColumns(o.Columns)
	if err != nil {
		return nil, "", err
	}
	d := vcdHead{words: wordReader{in: in, line: 1, col: 1}, want: want, power: inSeconds, taps: map[string][]tap{}}
	if err := d.read(); err != nil {
		return nil, "", err
	}
	r := &vcdReader{words: d.words, power: d.power, taps: d.taps, signals: newSignals(in.name, d.names, o.Inverted)}
	return r, "VCD: characters of 1200 bit/s, 8 bits, odd parity, in " + d.what(o.Inverted), nil
}

// vcdColumns are the signals that are wanted; nil for all.
func vcdColumns(text string) (want []string, err error) {
	columns, err := parseColumns(text)
	for _, c := range columns {
		if c.role != roleLevel {
			return nil, fmt.Errorf("--columns takes level=SIGNAL for a VCD, got %q", c.word+"="+c.name)
		}
		want = append(want, c.name)
	}
	return want, err
}

// what names the wires in a sentence.
func (h *vcdHead) what(inverted bool) string {
	names := strings.Join(h.names, ", ")
	if len(h.names) > 8 {
		names = fmt.Sprintf("%s and %d more signals", strings.Join(h.names[:6], ", "), len(h.names)-6)
	}
	if inverted {
		names += ", inverted"
	}
	return names
}
