package capture

import (
	"errors"
	"fmt"
	"strconv"
	"time"
)

// section is a recording within a capture file: the first, or one that was
// appended.
type section struct {
	filled  bool          // it has lines with a time
	started bool          // it has told its wall clock
	shift   time.Duration // of its times against those of the first
}

var (
	errWord      = errors.New(`is not known: want started, stream or end behind "!"`)
	errStarted   = errors.New(`"! started" stands behind what a recording begins with: want it once, in front of the first time`)
	errDescribed = errors.New("is described already: want it once in a recording")
	errNumber    = errors.New("is no number of a stream: want 0 to 255")
)

// begin begins another section, behind the last time of those before. It tells
// anew what its streams are.
func (r *fileReader) begin(rec *Record) {
	rec.Resumed = r.section.filled || r.section.started
	r.section = section{shift: r.last}
	for _, s := range r.known {
		*s = stream{pos: s.pos, cut: true}
	}
}

// headless reports whether the line that is being read belongs to another section,
// whose first line is the damaged one in front.
func (r *fileReader) headless() bool {
	return r.broken == r.line-1 && (r.section.filled || r.section.started)
}

// told reads what a section tells of itself, from text[at] on. It tells where an
// error stands.
func (r *fileReader) told(text []byte, at int, rec *Record) (int, error) {
	word := firstWord(text[at:])
	rest := min(at+len(word)+1, len(text))
	switch string(word) {
	case "started":
		return r.startedAt(text, rest, rec)
	case "stream":
		return r.describe(text, rest, rec)
	case "end":
		r.unclosed = false
		return at, nil
	}
	return at, fmt.Errorf("%q %w", word, errWord)
}

// startedAt reads the wall clock. Sections keep their distance by it, unless it
// was set back.
func (r *fileReader) startedAt(text []byte, at int, rec *Record) (int, error) {
	clock, err := ParseClock(string(text[at:]))
	switch {
	case err != nil:
		return at, fmt.Errorf("started %w", err)
	case r.headless():
		r.begin(rec)
	case r.section.filled || r.section.started:
		return 0, errStarted
	}
	if !r.origin.IsZero() {
		apart := clock.Sub(r.origin)
		if apart > longest {
			return at, fmt.Errorf("%q %w", text[at:], errLongest)
		}
		r.section.shift = max(r.section.shift, apart)
	}
	r.section.started, r.origin = true, clock.Add(-r.section.shift)
	return at, nil
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
// and what is known of its times and parity, and of its way here.
func (r *fileReader) describe(text []byte, at int, rec *Record) (int, error) {
	word := firstWord(text[at:])
	n, err := strconv.ParseUint(string(word), 10, 8)
	if err != nil {
		return at, fmt.Errorf("%q %w", word, errNumber)
	}
	s := r.stream(uint8(n))
	switch {
	case s.times == untold:
	case r.headless():
		r.begin(rec)
	default:
		return at, fmt.Errorf("stream %d %w", n, errDescribed)
	}
	at = min(at+len(word)+1, len(text))
	name, err := strconv.QuotedPrefix(string(text[at:]))
	if err != nil {
		return at, fmt.Errorf("stream %d has no name, want one between quotation marks", n)
	}
	s.name, _ = strconv.Unquote(name) // which was found to be quoted
	for at += len(name); at < len(text); {
		if text[at] == ' ' {
			at++
			continue
		}
		pair := wordOf(text[at:])
		if err := s.describe(string(pair)); err != nil {
			return at, fmt.Errorf("stream %d: %w", n, err)
		}
		at += len(pair)
	}
	if s.times == untold {
		return at, fmt.Errorf("stream %d does not tell what its times are of, want times=start, times=end or times=none", n)
	}
	return at, nil
}
