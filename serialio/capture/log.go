package capture

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"

	"looptone/frame"
)

// logReader reads what a pattern finds in the lines of a log. A record is a match.
type logReader struct {
	in      *input
	pattern *regexp.Regexp
	groups  logGroups
	err     error
	line    int64 // the one that is being read
	text    []byte
	matches [][]int // of text, that are no records yet
	clock   moments

	streams []logStream
	char    charField
	marks   []frame.MarkAt

	matched, passed int64 // lines
}

// logGroups are where the groups of a pattern are; −1 stands for none.
type logGroups struct{ time, stream, hex int }

// logStream is one direction of a log.
type logStream struct {
	name string
	flow succession
	at   Stamp
}

var (
	errNoPattern  = errors.New("a log wants --pattern, a regular expression that finds (?P<hex>…) in a line")
	errNoHexGroup = errors.New("--pattern has no group (?P<hex>…) for the characters")
	errNothingIn  = errors.New("group hex holds no character")
	errLogTime    = errors.New("time lies before that of the match in front of it: want a log in the order of times")
)

// openLog reads a log. Groups are hex for the characters, and if wanted time and
// direction.
func openLog(in *input, o Options) (Reader, string, error) {
	if isUTF16(in) {
		return nil, "", fmt.Errorf("%s %w", in.name, ErrUTF16)
	}
	pattern, groups, err := parsePattern(o.Pattern)
	if err != nil {
		return nil, "", err
	}
	skipByteOrderMark(in)
	r := &logReader{in: in, pattern: pattern, groups: groups, clock: newMoments(inSeconds)}
	return r, "log: " + groups.what() + " of each match of the pattern", nil
}

func parsePattern(text string) (pattern *regexp.Regexp, g logGroups, err error) {
	if text == "" {
		return nil, g, errNoPattern
	}
	if pattern, err = regexp.Compile(text); err != nil {
		return nil, g, fmt.Errorf("--pattern: %w", err)
	}
	for _, name := range pattern.SubexpNames() {
		if name != "" && name != "time" && name != "direction" && name != "hex" {
			return nil, g, fmt.Errorf("--pattern has a group %q: want time, direction and hex", name)
		}
	}
	g = logGroups{pattern.SubexpIndex("time"), pattern.SubexpIndex("direction"), pattern.SubexpIndex("hex")}
	if g.hex < 0 {
		return nil, g, errNoHexGroup
	}
	return pattern, g, nil
}

// what names the groups in a sentence.
func (g *logGroups) what() string {
	words := []string{"hex"}
	if g.stream >= 0 {
		words = append(words, "direction")
	}
	if g.time >= 0 {
		words = append(words, "time")
	}
	slices.Reverse(words)
	if n := len(words) - 1; n > 0 {
		return strings.Join(words[:n], ", ") + " and " + words[n]
	}
	return words[0]
}

func (r *logReader) Next(rec *Record) error {
	for r.err == nil {
		if len(r.matches) == 0 {
			r.err = r.nextLine()
			continue
		}
		m := r.matches[0]
		r.matches = r.matches[1:]
		if r.err = r.match(m, rec); r.err == nil {
			return nil
		}
	}
	return r.err
}

// nextLine finds what is in the next line. One that is too long holds nothing.
func (r *logReader) nextLine() error {
	line, whole, err := r.in.line()
	if err != nil {
		return err
	}
	r.line++
	if whole {
		r.text, r.matches = line, r.pattern.FindAllSubmatchIndex(line, -1)
	}
	if len(r.matches) > 0 {
		r.matched++
	} else {
		r.passed++
	}
	return nil
}

// match makes a record of a match.
func (r *logReader) match(m []int, rec *Record) error {
	text, from := r.group(m, r.groups.hex)
	if at, err := r.char.read(roleHex, text, int64(from)+1); err != nil {
		return r.errorAt(from+at, err)
	}
	if len(r.char.chars) == 0 {
		return r.errorAt(from, errNothingIn)
	}
	start := Stamp{}
	if text, at := r.group(m, r.groups.time); text != "" {
		since, err := r.clock.read(text)
		if err != nil {
			return r.errorAt(at, err)
		}
		start = After(since)
	}
	name, at := r.group(m, r.groups.stream)
	number, ok := r.stream(name)
	if !ok {
		return r.errorAt(at, fmt.Errorf("%q %w", shortened(name), errManyStreams))
	}
	s := &r.streams[number]
	if s.at.known && start.known && start.since < s.at.since {
		_, at := r.group(m, r.groups.time)
		return r.errorAt(at, errLogTime)
	}
	r.fill(rec, number, start)
	return nil
}

// fill makes a record of what was read. Every match is a new beginning, like a line of
// hex text, and behind a silence more than that. Whether a program that writes a log does
// so when a message begins or when it ends, nobody knows: its time may be late by as much
// as the message is long.
func (r *logReader) fill(rec *Record, number int, start Stamp) {
	s := &r.streams[number]
	n := int64(len(r.char.chars))
	r.marks = r.marks[:0]
	pos := s.flow.pos
	mark := s.flow.next(start, r.clock.lateness())
	s.flow.pos += n - 1
	s.flow.end = start.plus(n)
	if start.known {
		s.at = start
	}
	if mark != frame.Cut {
		mark = frame.Line
	}
	if pos > 0 {
		r.marks = append(r.marks, frame.MarkAt{Pos: pos, Mark: mark})
	}
	*rec = Record{Stream: uint8(number), Name: s.name, Streams: streamsOf(len(r.streams), s.name), Start: start, End: start.plus(n),
		Late: r.clock.lateness() + frame.Characters(n), Origin: r.clock.origin, Chars: r.char.chars, Marks: r.marks,
		Place: Place{File: r.in.name, Line: r.line, Columns: r.char.columns}}
}

// group is what a group of a match has found, and where in the line; "" for nothing.
func (r *logReader) group(m []int, group int) (text string, at int) {
	if group < 0 || m[2*group] < 0 {
		return "", m[0]
	}
	found := r.text[m[2*group]:m[2*group+1]]
	trimmed := bytes.TrimLeft(found, " \t")
	return string(bytes.TrimSpace(found)), m[2*group] + len(found) - len(trimmed)
}

func (r *logReader) stream(name string) (number int, ok bool) {
	for i := range r.streams {
		if r.streams[i].name == name {
			return i, true
		}
	}
	if len(r.streams) == maxStreams {
		return 0, false
	}
	r.streams = append(r.streams, logStream{name: name})
	return len(r.streams) - 1, true
}

func (r *logReader) errorAt(at int, err error) error {
	return &SyntaxError{Position{File: r.in.name, Line: r.line, Column: int64(at) + 1}, err}
}

// Told is what is to be said at the end.
func (r *logReader) Told() string {
	if r.err != io.EOF {
		return ""
	}
	return fmt.Sprintf("%d of %d lines do not match the pattern", r.passed, r.passed+r.matched)
}
