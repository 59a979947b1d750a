package capture

import (
	"errors"
	"fmt"
	"strings"

	"looptone/frame"
)

// csvReader reads a CSV of decoded characters, one or more a row, or of levels.
type csvReader struct {
	in     *input
	layout csvLayout
	err    error
	line   int64 // the one that is being read
	fields []csvField
	clock  moments

	start Stamp // of the row
	left  int   // columns of characters in it that were not looked at yet
	heard bool  // one of them held some

	streams []csvStream
	numbers map[string]int
	signals *signals // of levels
	last    Stamp    // of levels: time of the last row

	char  charField
	marks []frame.MarkAt
	empty int64 // rows without a character
}

// csvStream is one direction of a CSV of decoded characters.
type csvStream struct {
	flow succession
	name string
	many bool  // the last row had several characters
	at   Stamp // of the last row
}

var (
	errRowBackwards = errors.New("time lies before that of the row in front of it: want the rows of a stream in the order of times")
	errLevel        = errors.New("is no level: want 0 or 1, low or high, false or true, x or z")
	errMark         = errors.New("is nothing that can be wrong with a character: want parity, framing, break, gap, line, cut or none")
	errManyStreams  = errors.New("is one stream too many: want at most 256 of them")
)

func openCSV(in *input, o Options) (Reader, string, error) {
	for in.more() {
	}
	if isUTF16(in) {
		return nil, "", fmt.Errorf("%s %w", in.name, ErrUTF16)
	}
	l, err := findCSV(text(in), in.err != nil, o.Columns)
	if err != nil {
		return nil, "", fmt.Errorf("%s: %w", in.name, err)
	}
	rd, what := newCSV(in, l, o)
	return rd, what, nil
}

// tryCSV reads the input as CSV if its first lines tell that it is.
func tryCSV(in *input, o Options) (rd Reader, what string, err error) {
	if !isLatin(in.unread()) {
		return nil, "", errNoCSV
	}
	l, err := findCSV(text(in), in.err != nil, "")
	if err != nil {
		return nil, "", err
	}
	rd, what = newCSV(in, l, o)
	return rd, what, nil
}

func newCSV(in *input, l csvLayout, o Options) (Reader, string) {
	skipByteOrderMark(in)
	r := &csvReader{in: in, layout: l, clock: newMoments(l.power), numbers: map[string]int{}}
	if len(l.levels) > 0 {
		r.signals = newSignals(in.name, l.names, o.Inverted)
	}
	return r, l.what(o.Inverted)
}

func (r *csvReader) Next(rec *Record) error {
	for {
		if r.signals != nil && r.signals.next(rec) {
			r.setClock(rec)
			return nil
		}
		if r.err != nil {
			return r.err
		}
		if r.left > 0 {
			var found bool
			if found, r.err = r.characters(rec); found {
				return nil
			}
			continue
		}
		if r.err = r.row(); r.err != nil && r.signals != nil {
			r.signals.end()
		}
	}
}

func (r *csvReader) setClock(rec *Record) {
	rec.Origin, rec.Late = r.clock.origin, r.clock.lateness()
}

// row reads a line. Of one with levels it takes them over.
func (r *csvReader) row() error {
	line, whole, err := r.in.line()
	if err != nil {
		return err
	}
	r.line++
	switch {
	case r.line <= r.layout.head:
		return nil
	case !whole:
		return r.errorAt(1, errLong)
	case isEmpty(line):
		return nil
	}
	fields, at, err := splitRow(r.fields[:0], string(line), r.layout.separator)
	if r.fields = fields; err != nil {
		return r.errorAt(int64(at)+1, err)
	}
	if len(fields) < r.layout.width {
		return r.errorAt(int64(len(line))+1, fmt.Errorf("row ends behind column %d: want at least %d columns", len(fields), r.layout.width))
	}
	if r.start, err = r.time(); err == nil && r.signals != nil {
		return r.levels(r.start)
	}
	r.left, r.heard = len(r.layout.data), false
	return err
}

// time is when the row was, if it says so.
func (r *csvReader) time() (Stamp, error) {
	if r.layout.time < 0 || r.fields[r.layout.time].text == "" && r.signals == nil {
		return Stamp{}, nil
	}
	f := &r.fields[r.layout.time]
	at, err := r.clock.read(f.text)
	if err != nil {
		return Stamp{}, r.errorAt(f.column, err)
	}
	return After(at), nil
}

// levels takes over what the wires are at from start on. An empty field is no change.
func (r *csvReader) levels(start Stamp) error {
	if r.last.known && start.since < r.last.since {
		return r.errorAt(r.fields[r.layout.time].column, errRowBackwards)
	}
	r.last = start
	for i, column := range r.layout.levels {
		f := &r.fields[column]
		if f.text == "" {
			continue
		}
		to, ok := levelWords[strings.ToLower(f.text)]
		if !ok {
			return r.errorAt(f.column, fmt.Errorf("%q %w", shortened(f.text), errLevel))
		}
		r.signals.change(i, start.since, to, Position{Line: r.line, Column: f.column})
	}
	r.signals.until(start.since)
	return nil
}

var levelWords = map[string]level{
	"0": low, "l": low, "low": low, "false": low,
	"1": high, "h": high, "high": high, "true": high,
	"x": unknown, "z": unknown,
}

// characters makes a record of the row's next column of characters, if it holds some.
func (r *csvReader) characters(rec *Record) (found bool, err error) {
	i := len(r.layout.data) - r.left
	r.left--
	start, f := r.start, &r.fields[r.layout.data[i]]
	if at, err := r.char.read(r.layout.base, f.text, f.column); err != nil {
		return false, r.errorAt(f.column+int64(at), err)
	}
	mark, err := r.markOf()
	if err != nil {
		return false, err
	}
	if len(r.char.chars) == 0 && mark != 0 && len(r.layout.data) == 1 { // what cannot be trusted need not be told
		r.char.chars, r.char.columns = append(r.char.chars, 0), append(r.char.columns, f.column)
	}
	if len(r.char.chars) == 0 {
		if r.left == 0 && !r.heard {
			r.empty++
		}
		return false, nil
	}
	r.heard = true
	number, err := r.stream(i)
	if err != nil {
		return false, err
	}
	s := &r.streams[number]
	if s.at.known && start.known && start.since < s.at.since {
		return false, r.errorAt(r.fields[r.layout.time].column, errRowBackwards)
	}
	pos := s.flow.pos
	mark |= r.before(s, start)
	r.marks = r.marks[:0]
	if mark != 0 {
		r.marks = append(r.marks, frame.MarkAt{Pos: pos, Mark: mark})
	}
	*rec = Record{Stream: uint8(number), Name: s.name, Streams: streamsOf(len(r.streams), s.name), Start: start, End: start.plus(int64(len(r.char.chars))),
		Parity: r.layout.seesErrors(), Chars: r.char.chars, Marks: r.marks,
		Place: Place{File: r.in.name, Line: r.line, Columns: r.char.columns}}
	r.setClock(rec)
	return true, nil
}

// before is what stands before the row's first character, if the file does not tell.
func (r *csvReader) before(s *csvStream, start Stamp) (mark frame.Mark) {
	n := int64(len(r.char.chars))
	first := s.flow.pos == 0
	mark = s.flow.next(start, r.clock.lateness())
	s.flow.pos += n - 1
	s.flow.end = start.plus(n)
	if start.known {
		s.at = start
	}
	several := n > 1 || s.many
	s.many = n > 1
	switch {
	case r.layout.marks >= 0 || first:
		return 0
	case several && mark != frame.Cut: // of the characters within a row no times are known
		return frame.Line
	}
	return mark
}

// stream is the number of the stream that the row's column of characters i is of.
func (r *csvReader) stream(i int) (number int, err error) {
	name := ""
	if len(r.layout.data) > 1 {
		name = r.layout.titles[i]
	}
	if r.layout.stream >= 0 {
		name = strings.TrimSpace(r.fields[r.layout.stream].text + " " + name)
	}
	number, known := r.numbers[name]
	if known {
		return number, nil
	}
	if len(r.streams) == maxStreams {
		return 0, r.errorAt(r.fields[r.layout.stream].column, fmt.Errorf("%q %w", shortened(name), errManyStreams))
	}
	number = len(r.streams)
	name = strings.Clone(name)
	r.numbers[name] = number
	r.streams = append(r.streams, csvStream{name: name})
	return number, nil
}

// markOf is what the row says of its character.
func (r *csvReader) markOf() (mark frame.Mark, err error) {
	if r.layout.marks >= 0 {
		if mark, err = r.words(r.layout.marks, 0); err != nil {
			return 0, err
		}
	}
	for _, column := range r.layout.errors {
		m, err := r.words(column.index, column.mark)
		if err != nil {
			return 0, err
		}
		mark |= m
	}
	return mark, nil
}

// words reads words for marks; yes stands for what the column is for.
func (r *csvReader) words(index int, yes frame.Mark) (mark frame.Mark, err error) {
	f := &r.fields[index]
	some := false // error, which does not tell what kind of
	for word := range strings.FieldsFuncSeq(strings.ToLower(f.text), isApart) {
		m, known := markWords[word]
		switch {
		case known:
			mark |= m
		case yesWords[word]:
			some = true
		case !noWords[word]:
			return 0, r.errorAt(f.column, fmt.Errorf("%q %w", shortened(f.text), errMark))
		}
	}
	if some && mark == 0 {
		if mark = yes; mark == 0 {
			return 0, r.errorAt(f.column, fmt.Errorf("%q %w", shortened(f.text), errMark))
		}
	}
	return mark, nil
}

func isApart(c rune) bool { return strings.ContainsRune(" ,;+/&|_-", c) }

var (
	markWords = map[string]frame.Mark{
		"p": frame.Parity, "parity": frame.Parity,
		"f": frame.Framing, "framing": frame.Framing, "frame": frame.Framing, "stop": frame.Framing, "break": frame.Framing,
		"g": frame.Gap, "gap": frame.Gap, "line": frame.Line, "cut": frame.Cut,
	}
	noWords  = map[string]bool{"none": true, "no": true, "ok": true, "0": true, "false": true}
	yesWords = map[string]bool{"yes": true, "1": true, "true": true, "x": true, "error": true, "errors": true}
)

func (r *csvReader) errorAt(column int64, err error) error {
	return &SyntaxError{Position{File: r.in.name, Line: r.line, Column: column}, err}
}

// Told is what is to be said at the end.
func (r *csvReader) Told() string {
	switch {
	case r.signals != nil:
		return r.signals.told()
	case r.empty > 0:
		return fmt.Sprintf("rows without a character, which were passed over: %d", r.empty)
	}
	return ""
}
