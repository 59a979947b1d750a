package capture

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// section is a recording within a capture file: the first, or one that was
// appended.
type section struct {
	filled  bool          // it has lines with a time
	started bool          // it has told its wall clock
	shift   time.Duration // of its times against those of the first
}

var errWord = errors.New(`is not known: want started, stream or end behind "!"`)

// begin begins another section, behind the last time of those before. It tells
// anew what its streams are.
func (r *fileReader) begin(rec *Record) {
	rec.Resumed = r.section.filled || r.section.started
	r.section = section{shift: r.last}
	for _, s := range r.known {
		*s = stream{pos: s.pos, cut: true}
	}
}

// told reads what a section tells of itself.
func (r *fileReader) told(text []byte, rec *Record) error {
	word, rest, _ := bytes.Cut(text, []byte(" "))
	switch string(word) {
	case "started":
		return r.startedAt(string(rest), rec)
	case "stream":
		return r.describe(string(rest))
	case "end":
		r.unclosed = false
		return nil
	}
	return fmt.Errorf("%q %w", word, errWord)
}

// startedAt reads the wall clock. Sections keep their distance by it, unless it
// was set back. One in the middle of a section belongs to another, whose first
// line is damaged.
func (r *fileReader) startedAt(text string, rec *Record) error {
	at, err := ParseClock(text)
	if err != nil {
		return fmt.Errorf("started %w", err)
	}
	if r.section.filled || r.section.started {
		r.begin(rec)
	}
	r.section.started = true
	if !r.origin.IsZero() {
		r.section.shift = max(r.section.shift, at.Sub(r.origin))
	}
	r.origin = at.Add(-r.section.shift)
	return nil
}

// ParseClock reads a wall clock time after RFC 3339. It stays in the zone that it
// is told in, whatever clocks do in the one of this machine.
func ParseClock(text string) (time.Time, error) {
	at, err := time.Parse(time.RFC3339Nano, text)
	if err != nil {
		return time.Time{}, fmt.Errorf("%q is no time, want for instance 2031-03-01T03:10:07+01:00", text)
	}
	_, offset := at.Zone()
	return at.In(time.FixedZone("", offset)), nil
}

// describe reads what a stream is: its number, its name between quotation marks,
// and what is known of its times and parity.
func (r *fileReader) describe(text string) error {
	word, rest, _ := strings.Cut(text, " ")
	n, err := strconv.ParseUint(word, 10, 8)
	if err != nil {
		return fmt.Errorf("stream %q is no number from 0 to 255", word)
	}
	name, err := strconv.QuotedPrefix(rest)
	if err != nil {
		return fmt.Errorf("stream %d has no name, want one between quotation marks", n)
	}
	s := r.stream(uint8(n))
	s.times, s.late = untold, 0
	for _, pair := range strings.Fields(rest[len(name):]) {
		if err := s.describe(pair); err != nil {
			return fmt.Errorf("stream %d: %w", n, err)
		}
	}
	if s.times == untold {
		return fmt.Errorf("stream %d does not tell what its times are of, want times=start or times=end", n)
	}
	return nil
}
