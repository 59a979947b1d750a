package capture

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"looptone/frame"
)

// An Export writes records in one of the formats that other programs read too, or in the
// project's own.
type Export struct {
	to    exporter
	lost  omissions
	pos   [mostStreams]int64      // characters of each stream so far
	ahead [mostStreams]frame.Mark // before the next character of each
	heard int                     // streams that had some
	rec   exported
}

// exported is a record on its way out.
type exported struct {
	*Record
	marks   []frame.MarkAt // Pos counts in the characters
	resumed bool           // it is the first that tells something of another recording
}

// exporter writes in a format.
type exporter interface {
	// record writes a record. What the format has no room for is counted in lost.
	record(rec *exported, lost *omissions) error
	end() error
}

// omissions counts what a format has no room for.
type omissions [lossKinds]int64

// lossKind is what a format may have no room for.
type lossKind int

const (
	lostTimes lossKind = iota
	lostClock
	lostLate
	lostMarks
	lostStreams
	lostCuts
	lostOverlaps
	lostCarriers
	lostNews
	lossKinds
)

// losses say what is lost, and of how many if that can be one or several.
var losses = [lossKinds]struct {
	one, many string // many with %d; "" where it is not counted
}{
	lostTimes:    {"the times", ""},
	lostClock:    {"the wall clock", ""},
	lostLate:     {"by how much the times may be late", ""},
	lostMarks:    {"the marks of one character", "the marks of %d characters"},
	lostStreams:  {"which stream a character was on", ""},
	lostCuts:     {"one place where what was heard does not go on, and times do not show that", "%d places where what was heard does not go on, and times do not show that"},
	lostOverlaps: {"the time of one character, which lies before that of the one in front of it", "the times of %d characters, which lie before those in front of them"},
	lostCarriers: {"one change of a carrier", "%d changes of carriers"},
	lostNews:     {"one place where characters are missing", "%d places where characters are missing"},
}

// exporters are the formats that can be written.
var exporters = []struct {
	name string
	open func(io.Writer) exporter
}{
	{"capture", func(w io.Writer) exporter { return &fileExport{to: w} }},
	{"raw", func(w io.Writer) exporter { return &rawExport{w: w} }},
	{"hex", func(w io.Writer) exporter { return &hexExport{w: w} }},
	{"csv", func(w io.Writer) exporter { return &csvExport{w: w} }},
	{"pcapng", func(w io.Writer) exporter { return &packetExport{to: w} }},
}

// Exports are the words for the formats that can be written.
func Exports() (names []string) {
	for _, e := range exporters {
		names = append(names, e.name)
	}
	return names
}

// NewExport begins to write in a format, which is one of [Exports].
func NewExport(w io.Writer, format string) (*Export, error) {
	for _, e := range exporters {
		if e.name == format {
			return &Export{to: e.open(w)}, nil
		}
	}
	names := Exports()
	last := len(names) - 1
	return nil, fmt.Errorf("unknown format %q: want %s or %s", format, strings.Join(names[:last], ", "), names[last])
}

// Write writes a record.
func (e *Export) Write(rec *Record) error {
	pos := &e.pos[rec.Stream]
	e.rec.Record, e.rec.marks = rec, e.rec.marks[:0]
	if ahead := &e.ahead[rec.Stream]; *ahead != 0 && len(rec.Chars) > 0 {
		e.rec.marks = append(e.rec.marks, frame.MarkAt{Mark: *ahead})
		*ahead = 0
	}
	for _, m := range rec.Marks {
		if m.Pos -= *pos; m.Pos < int64(len(rec.Chars)) {
			e.rec.marks = append(e.rec.marks, m)
		} else {
			e.ahead[rec.Stream] |= m.Mark
		}
	}
	if *pos == 0 && len(rec.Chars) > 0 {
		e.heard++
	}
	*pos += int64(len(rec.Chars))
	e.rec.resumed = e.rec.resumed || rec.Resumed
	if len(rec.Chars) == 0 && rec.Carrier == 0 && rec.Lost == 0 && rec.Damage == nil {
		return nil
	}
	err := e.to.record(&e.rec, &e.lost)
	e.rec.resumed = false
	return err
}

// Close ends what was written, but does not close what it was written to. It says what
// of the records the format has no room for, in the words of a list.
func (e *Export) Close() (lost []string, err error) {
	if e.heard <= 1 {
		e.lost[lostStreams] = 0
	}
	for kind, n := range e.lost {
		switch words := losses[kind]; {
		case n == 0:
		case n == 1 || words.many == "":
			lost = append(lost, words.one)
		default:
			lost = append(lost, fmt.Sprintf(words.many, n))
		}
	}
	return lost, e.to.end()
}

// onCharacters are the marks that a character can carry in every format that has marks.
const onCharacters = frame.Parity | frame.Framing | frame.Gap

// has reports whether a record has one of these marks in front of its characters.
func (r *exported) has(mark frame.Mark) bool {
	return slices.ContainsFunc(r.marks, func(m frame.MarkAt) bool { return m.Pos <= 0 && m.Mark&mark != 0 })
}

// markOf is the mark of character i; marks before it are passed over. It gives the marks that
// are left.
func markOf(marks []frame.MarkAt, i int) (mark frame.Mark, left []frame.MarkAt) {
	for len(marks) > 0 && marks[0].Pos <= int64(i) {
		mark |= marks[0].Mark
		marks = marks[1:]
	}
	return mark, marks
}

// news counts what formats of mere characters have no room for.
func (t *omissions) news(rec *exported) {
	if rec.Carrier != 0 {
		t[lostCarriers]++
	}
	if rec.Lost > 0 || rec.Damage != nil {
		t[lostNews]++
	}
	if !rec.Origin.IsZero() {
		t[lostClock] = 1
	}
	t[lostStreams] = 1 // which Close takes back where there is only one
}

// comments counts what is lost but for comments.
func (t *omissions) comments(rec *exported) {
	t.news(rec)
	for _, m := range rec.marks {
		if m.Mark&onCharacters != 0 {
			t[lostMarks]++
		}
	}
	if rec.Start.known {
		t[lostTimes] = 1
	}
}

// appendSigned writes a time in seconds, which can lie before time 0.
func appendSigned(b []byte, d time.Duration) []byte {
	if d < 0 {
		b, d = append(b, '-'), -d
	}
	return appendSeconds(b, d)
}
