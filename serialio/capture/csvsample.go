package capture

import (
	"bytes"
	"errors"
	"slices"
	"strconv"
	"strings"
)

// findCSV finds the layout in the first lines of a CSV; all tells that they are all.
func findCSV(text []byte, all bool, columns string) (l csvLayout, err error) {
	want, err := parseColumns(columns)
	if err != nil {
		return l, err
	}
	if !all {
		text = text[:bytes.LastIndexByte(text, '\n')+1]
	}
	err = errNoCSV
	for _, separator := range []byte("\t;,") {
		s := csvSample{rows: rowsOf(text, separator), want: want}
		found, why := s.layout()
		if why == nil {
			found.separator = separator
			return found, nil
		}
		err = telling(err, why)
	}
	return l, err
}

// telling is that of two errors which tells more.
func telling(a, b error) error {
	var of, other *missingError
	switch {
	case b == nil || errors.Is(a, errNoRow):
		return a
	case a == errNoCSV || errors.Is(b, errNoRow):
		return b
	case errors.As(a, &of) && errors.As(b, &other) && other.found > of.found:
		return b
	}
	return a
}

// rowsOf are the lines of a text as rows: nil for one that means nothing, without any
// field one that cannot be read.
func rowsOf(text []byte, separator byte) (rows [][]csvField) {
	for line := range bytes.Lines(text) {
		line = bytes.TrimRight(line, "\r\n")
		fields, _, err := splitRow(nil, string(line), separator)
		switch {
		case isEmpty(line):
			fields = nil
		case err != nil:
			fields = []csvField{}
		}
		rows = append(rows, fields)
	}
	return rows
}

// csvSample is the beginning of a CSV.
type csvSample struct {
	rows [][]csvField
	want []chosen
}

// layout finds what the columns mean: by the header that tells most, or by what is
// wanted.
func (s *csvSample) layout() (l csvLayout, err error) {
	best, last := 0, min(mostHead, len(s.rows))
	if s.byNumber() {
		last = 0
	}
	err = errNoCSV
	for head := 0; head <= last; head++ {
		if head > 0 && s.rows[head-1] == nil {
			continue
		}
		found, why := s.under(head)
		switch {
		case why == nil && found.columns() > best:
			l, best = found, found.columns()
		default:
			err = telling(err, why)
		}
	}
	if best > 0 {
		err = nil
	}
	return l, err
}

// byNumber reports whether columns are wanted by nothing but their numbers, so that no
// header is looked for.
func (s *csvSample) byNumber() bool {
	for _, c := range s.want {
		if decimals([]byte(c.name)) < len(c.name) {
			return false
		}
	}
	return len(s.want) > 0
}

// under is the layout if the last of so many lines in front is the header; none if
// head is 0.
func (s *csvSample) under(head int) (l csvLayout, err error) {
	l = csvLayout{time: -1, power: inSeconds, unit: "s", stream: -1, marks: -1}
	var names []csvField
	if head > 0 {
		names = s.rows[head-1]
	}
	switch {
	case len(s.want) > 0:
		err = l.choose(s.want, names)
	case head == 0:
		l.time = 0
	default:
		l.guess(names)
	}
	if err != nil {
		return l, err
	}
	if l.time < 0 && len(l.data) == 0 || isWhole(names) {
		return l, errNoCSV
	}
	first, err := s.firstRow(&l, head)
	switch {
	case err != nil && names == nil && len(s.want) == 0:
		return l, errNoCSV
	case err != nil:
		return l, err
	}
	if head == 0 && isWhole(s.rows[first]) {
		return l, errNoCSV
	}
	l.head = int64(first)
	if head == 0 && first > 0 {
		names = s.rows[first-1]
	}
	err = s.complete(&l, names, s.rows[first:])
	if err == nil && len(s.want) == 0 && inVolts(s.rows[max(0, head-1):first], slices.Concat(l.data, l.levels)) {
		err = errNoCSV // a waveform that begins with 0 in whole numbers, for instance
	}
	return l, err
}

// inVolts reports whether a header, or what stands below it, names volts as the unit of
// one of the columns.
func inVolts(head [][]csvField, columns []int) bool {
	return slices.ContainsFunc(head, func(row []csvField) bool {
		return slices.ContainsFunc(columns, func(column int) bool {
			return column < len(row) && slices.ContainsFunc(headerWords(row[column].text), isVolts)
		})
	})
}

func isVolts(word string) bool {
	return slices.Contains([]string{"v", "mv", "volt", "volts"}, word)
}

// isWhole reports whether a line is one field only because it is cut at a separator that
// is not the file's.
func isWhole(row []csvField) bool {
	return len(row) == 1 && strings.ContainsAny(row[0].text, ",;\t")
}

// mostBetween is how many lines can stand between the header and the first row: with
// units, for instance.
const mostBetween = 3

// firstRow looks for the first row behind the header, and on its way for the unit of
// times.
func (s *csvSample) firstRow(l *csvLayout, head int) (first int, err error) {
	last := head + mostBetween
	switch {
	case s.byNumber():
		last = mostHead
	case head == 0:
		last = 0
	}
	for first = head; first < len(s.rows) && (first <= last || s.rows[first] == nil); first++ {
		row := s.rows[first]
		if s.isRow(l, row) || head > 0 && row != nil && len(row) == 0 {
			return first, nil // one that cannot be read is not passed over
		}
		if l.time >= 0 && l.time < len(row) {
			l.setUnit(row[l.time].text)
		}
		if row == nil {
			last++
		}
	}
	return 0, errNoRow
}

// complete finds out from the rows what the header does not tell.
func (s *csvSample) complete(l *csvLayout, names []csvField, rows [][]csvField) error {
	if len(s.want) == 0 && isAnalog(rows, slices.Concat(l.data, l.levels)) {
		return errNoCSV
	}
	noLevel := func(column int) bool { return !allLevels(rows, column) }
	if len(s.want) == 0 && l.base == roleData && l.time >= 0 && !slices.ContainsFunc(l.data, noLevel) {
		l.levels, l.names, l.data = append(l.levels, l.data...), append(l.names, l.titles...), nil
	}
	switch {
	case len(l.data) > 0:
		l.levels, l.names = nil, nil
		if l.base == roleData {
			l.base = baseOf(rows, l.data)
		}
	case len(l.levels) == 0:
		l.stream = -1 // a channel is a wire here
		s.findLevels(l, names, rows)
	case l.stream >= 0:
		return errWires
	}
	if len(l.data) == 0 && (len(l.levels) == 0 || l.time < 0 || names == nil && len(s.want) == 0 && !broken(rows)) {
		return errNoCSV
	}
	for i, column := range l.levels {
		l.names[i] = nameOf(names, column)
	}
	for i, column := range l.data {
		l.titles[i] = nameOf(names, column)
	}
	l.width = 1 + slices.Max(append([]int{l.time, l.stream, l.marks}, slices.Concat(l.data, l.levels)...))
	for _, e := range l.errors {
		l.width = max(l.width, 1+e.index)
	}
	return nil
}

// isAnalog reports whether columns hold nothing but numbers, some of them with a decimal
// sign: a waveform, whatever the header calls it.
func isAnalog(rows [][]csvField, columns []int) (found bool) {
	for _, row := range rows {
		for _, column := range columns {
			if column >= len(row) || row[column].text == "" {
				continue
			}
			text := row[column].text
			if _, _, err := readNumber(text, 0); err != nil {
				return false
			}
			found = found || len(text) > 1 && strings.ContainsAny(text, ".,")
		}
	}
	return found
}

// broken reports whether the first column holds a number with a decimal sign, or a time
// of day: without a header, whole numbers are not taken for times.
func broken(rows [][]csvField) bool {
	for _, row := range rows {
		if len(row) > 0 && strings.ContainsAny(row[0].text, ".,:") {
			return true
		}
	}
	return false
}

// nameOf is the name of a column.
func nameOf(names []csvField, column int) string {
	if column < len(names) && names[column].text != "" {
		return names[column].text
	}
	return "column " + strconv.Itoa(column+1)
}

// isRow reports whether a row has a time where it should stand, or else a character, and
// something in all columns that it needs.
func (s *csvSample) isRow(l *csvLayout, row []csvField) bool {
	if len(row) <= slices.Max(append([]int{l.time}, slices.Concat(l.data, l.levels)...)) {
		return false
	}
	if l.time >= 0 && row[l.time].text != "" {
		m := newMoments(l.power)
		if _, err := m.read(row[l.time].text); err == nil {
			return true
		}
	}
	return slices.ContainsFunc(l.data, func(column int) bool { return isValue(row[column].text) })
}

// isValue reports whether a field can be characters, in digits, or is to be some.
func isValue(text string) bool {
	if text != "" && '0' <= text[0] && text[0] <= '9' {
		return true
	}
	var c charField
	_, err := c.read(roleHex, text, 1)
	if err != nil {
		_, err = c.read(roleDecimal, text, 1)
	}
	return err == nil && len(c.chars) > 0
}

// findLevels takes all columns that hold nothing but levels.
func (s *csvSample) findLevels(l *csvLayout, names []csvField, rows [][]csvField) {
	for i := range rows[0] {
		if i == l.time || i == l.stream || !allLevels(rows, i) || len(l.levels) == maxStreams {
			continue
		}
		l.levels, l.names = append(l.levels, i), append(l.names, nameOf(names, i))
	}
}

// allLevels reports whether a column holds nothing but levels, and one at least.
func allLevels(rows [][]csvField, column int) (found bool) {
	for _, row := range rows {
		if column >= len(row) || row[column].text == "" {
			continue
		}
		if _, ok := levelWords[strings.ToLower(row[column].text)]; !ok {
			return false
		}
		found = true
	}
	return found
}

// baseOf finds out in which base columns are: hex if all are pairs of digits, else
// decimal if all are such numbers, characters if all are single ones. What is neither
// is hex with something wrong.
func baseOf(rows [][]csvField, columns []int) role {
	var c charField
	all := func(base role) bool {
		for _, row := range rows {
			for _, column := range columns {
				if column >= len(row) || row[column].text == "" {
					continue
				}
				if _, err := c.read(base, row[column].text, 1); err != nil {
					return false
				}
			}
		}
		return true
	}
	for _, base := range []role{roleHex, roleDecimal, roleChar} {
		if all(base) {
			return base
		}
	}
	return roleHex
}
