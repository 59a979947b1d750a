// Package vector reads the test vectors of testdata/vectors: text files, one
// fact each, for the tests of every layer and the seeds of their fuzz targets.
//
// A line is a comment (#), blank, or a key and its value. Keys are those of the
// list below, each at most once, but several wire lines are one wire.
//
//	# one bit of the check byte is flipped
//	source: constructed
//	expect: check byte
//	reason: check byte
//	at: 9
//	wire: ff ff ff ff ff | 02 | 80 | 03 | 00 | 80
//
// Always there:
//
//	source   the document that prints the characters, or "constructed", with the
//	         document of the rule where there is one
//	expect   frame; noise; or of a fault, the field where the reading stood. An
//	         unknown frame type is noise, all other faults are damage
//	wire     the characters in hex, and marks: behind a character p (parity),
//	         f (framing), g (gap before it); between characters / (new line) and
//	         _ (cut). Bars stand between the fields of a frame
//
// Where they apply:
//
//	events   every event as "outcome begin-start-end", separated by bars: begin
//	         is the first preamble, start the delimiter. Absent: one event from
//	         the first to the last character
//	bare     yes or no: holds only with or only without [frame.Decoder.Bare].
//	         Absent: holds with both
//	at       of a fault: index of the character
//	reason   of a fault: parity, framing, gap, cut, frame type, byte count or
//	         check byte
//	got      of a fault, where a byte was compared: two hex digits
//	want     the byte that would have been right
//	faults   of damage: the communication errors that a device would report, or
//	         none
//
// The other keys speak of the event that expect names: the first frame, the
// first noise, or the first event with a fault. A frame has all of them that its
// kind has; damage has those of the fields in front of the fault.
//
//	preambles       number of FF characters
//	kind            STX, ACK or BACK
//	master          primary or secondary
//	burst_mode      true or false
//	address         "polling 3", "unique 26ad0c0102" or "broadcast"
//	physical        type of the physical layer, where it is not 0
//	expansion       hex of the expansion bytes, where there are any
//	command         number; behind 31 the extended number, if the data hold one
//	response        response code, or names of communication errors
//	device_status   names, or none
//	data            hex of the data field without the status bytes
package vector

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"

	"looptone/frame"
)

// A Vector is one file.
type Vector struct {
	Name  string // of the file, without its suffix
	Chars []byte
	Marks []frame.MarkAt
	Bars  []int // the characters behind a bar, as indices

	values map[string]string
	read   map[string]bool
}

var known = []string{
	"source", "expect", "events", "bare", "at", "reason", "got", "want", "faults",
	"preambles", "kind", "master", "burst_mode", "address", "physical", "expansion",
	"command", "response", "device_status", "data",
}

// Read reads every file of a folder in the order of their names. An error names
// file and line.
func Read(folder fs.FS) ([]*Vector, error) {
	names, err := fs.Glob(folder, "*.txt")
	if err != nil {
		return nil, err
	}
	var vectors []*Vector
	for _, name := range names {
		text, err := fs.ReadFile(folder, name)
		if err != nil {
			return nil, err
		}
		v, err := parse(strings.TrimSuffix(name, ".txt"), text)
		if err != nil {
			return nil, fmt.Errorf("%s:%w", name, err)
		}
		vectors = append(vectors, v)
	}
	return vectors, nil
}

// Value is the value of a key; ok is false where the file does not have it.
func (v *Vector) Value(key string) (value string, ok bool) {
	v.read[key] = true
	value, ok = v.values[key]
	return value, ok
}

// Unread lists the keys that nobody asked for: a test that leaves some has not
// checked all that its vector says.
func (v *Vector) Unread() (keys []string) {
	for _, key := range slices.Sorted(maps.Keys(v.values)) {
		if !v.read[key] {
			keys = append(keys, key)
		}
	}
	return keys
}

func parse(name string, text []byte) (*Vector, error) {
	v := &Vector{Name: name, values: map[string]string{}, read: map[string]bool{}}
	number := 0
	for line := range bytes.Lines(text) {
		number++
		if err := v.line(strings.TrimSpace(string(line))); err != nil {
			return nil, fmt.Errorf("%d: %w", number, err)
		}
	}
	for _, key := range []string{"source", "expect"} {
		if v.values[key] == "" {
			return nil, fmt.Errorf("%d: no %s", number, key)
		}
	}
	if len(v.Chars) == 0 {
		return nil, fmt.Errorf("%d: no wire", number)
	}
	return v, nil
}

func (v *Vector) line(line string) error {
	if line == "" || line[0] == '#' {
		return nil
	}
	key, value, ok := strings.Cut(line, ":")
	value = strings.TrimSpace(value)
	switch {
	case !ok:
		return fmt.Errorf("%q is neither a comment nor key: value", line)
	case key == "wire":
		return v.wire(value)
	case !slices.Contains(known, key):
		return fmt.Errorf("unknown key %q", key)
	}
	if _, twice := v.values[key]; twice {
		return fmt.Errorf("key %q a second time", key)
	}
	v.values[key] = value
	return nil
}

// between are the tokens that stand between characters.
var between = map[string]frame.Mark{"/": frame.Line, "_": frame.Cut}

// behind are the letters that may follow a character.
var behind = map[rune]frame.Mark{'p': frame.Parity, 'f': frame.Framing, 'g': frame.Gap}

func (v *Vector) wire(value string) error {
	for _, token := range strings.Fields(value) {
		if token == "|" {
			v.Bars = append(v.Bars, len(v.Chars))
			continue
		}
		mark, ok := between[token]
		if !ok {
			var char byte
			var err error
			if char, mark, err = character(token); err != nil {
				return err
			}
			v.Chars = append(v.Chars, char)
			v.mark(len(v.Chars)-1, mark)
			continue
		}
		v.mark(len(v.Chars), mark)
	}
	return nil
}

func character(token string) (char byte, marks frame.Mark, err error) {
	digits, err := hex.DecodeString(token[:min(2, len(token))])
	if err != nil || len(digits) != 1 {
		return 0, 0, fmt.Errorf("%q is no character of two hex digits", token)
	}
	for _, letter := range token[2:] {
		mark, ok := behind[letter]
		if !ok {
			return 0, 0, fmt.Errorf("%q carries an unknown mark %q", token, letter)
		}
		marks |= mark
	}
	return digits[0], marks, nil
}

func (v *Vector) mark(at int, mark frame.Mark) {
	if mark == 0 {
		return
	}
	if last := len(v.Marks) - 1; last >= 0 && v.Marks[last].Pos == int64(at) {
		v.Marks[last].Mark |= mark
		return
	}
	v.Marks = append(v.Marks, frame.MarkAt{Pos: int64(at), Mark: mark})
}
