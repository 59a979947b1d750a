package capture

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"looptone/frame"
)

// csvLayout is what the columns of a CSV mean; −1 stands for none.
type csvLayout struct {
	separator byte
	head      int64 // lines in front of the first row
	width     int   // columns that a row has at least
	time      int
	power     int // of ten: a unit of time in nanoseconds
	unit      string
	data      []int    // of several, each is a stream
	titles    []string // of data
	base      role     // of data
	stream    int
	marks     int
	errors    []errorColumn
	levels    []int
	names     []string // of levels
}

// errorColumn tells an error of a character; mark is which, if the column is for one.
type errorColumn struct {
	index int
	mark  frame.Mark
}

func (l *csvLayout) seesErrors() bool { return l.marks >= 0 || len(l.errors) > 0 }

// headWords are the words in a header that tell what a column means.
var headWords = map[string]role{
	"time": roleTime, "timestamp": roleTime, "seconds": roleTime, "start": roleTime, "t": roleTime,
	"hex": roleHex, "dec": roleDecimal, "decimal": roleDecimal,
	"data": roleData, "value": roleData, "byte": roleData, "bytes": roleData, "char": roleData, "character": roleData, "characters": roleData,
	"tx": roleData, "rx": roleData, "txd": roleData, "rxd": roleData,
	"stream": roleStream, "direction": roleStream, "dir": roleStream, "channel": roleStream,
	"error": roleError, "errors": roleError, "parity": roleError, "framing": roleError, "marks": roleMarks,
	"level": roleLevel, "state": roleLevel, "logic": roleLevel,
}

// directionWords are words in a header that tell apart columns of characters.
var directionWords = []string{
	"tx", "rx", "txd", "rxd", "sent", "received", "out", "in", "host", "device", "master", "slave", "request", "reply", "response",
}

// directionOf is the word in a header that tells a direction; "" for none.
func directionOf(name string) string {
	for _, word := range headerWords(name) {
		if slices.Contains(directionWords, word) {
			return word
		}
	}
	return ""
}

// mostHead is how many lines can stand in front of the first row.
const mostHead = 100

var (
	errNoCSV    = errors.New("no line tells what the columns are: want a header with words like time, data or level, or --columns")
	errNoRow    = errors.New("no row with a time and a value behind the header")
	errNoValues = errors.New("--columns: want a column for the characters (data, hex, dec or char), or time and level")
	errBases    = errors.New("--columns: several columns of characters have to be in one base: want all of them data, hex, dec or char")
	errWires    = errors.New("one column tells which wire a level is of: want a column of levels for each wire")
	errTwice    = errors.New("--columns: characters and levels do not go together")
)

// columns is how many columns mean something.
func (l *csvLayout) columns() int {
	n := len(l.errors) + len(l.levels) + len(l.data)
	for _, c := range [...]int{l.time, l.stream, l.marks} {
		if c >= 0 {
			n++
		}
	}
	return n
}

// choose takes the columns that are wanted, by number or by name.
func (l *csvLayout) choose(want []chosen, names []csvField) error {
	found := 0
	var missing error
	for _, c := range want {
		index := slices.IndexFunc(names, func(f csvField) bool { return strings.EqualFold(f.text, c.name) })
		if n, err := strconv.Atoi(c.name); index < 0 && err == nil && n >= 1 && n <= 9999 {
			index = n - 1
		}
		switch {
		case index >= 0 && c.role.isData():
			if len(l.data) > 0 && c.role != l.base {
				return errBases
			}
			l.addData(index, c.role, nameOf(names, index))
		case index >= 0:
			l.assign(index, c.role, nameOf(names, index))
		case missing == nil:
			missing = fmt.Errorf("--columns: no column is called %q", c.name)
		}
		if index >= 0 {
			found++
		}
	}
	switch {
	case missing != nil:
		return &missingError{missing, found}
	case len(l.data) > 0 && len(l.levels) > 0:
		return errTwice
	case len(l.data) == 0 && (len(l.levels) == 0 || l.time < 0):
		return errNoValues
	}
	return nil
}

// missingError says which column is not there, of those that are wanted; found are.
type missingError struct {
	error
	found int
}

// guess takes the columns whose names tell what they mean.
func (l *csvLayout) guess(names []csvField) {
	for i, f := range names {
		if role := headRole(f.text); role != noRole {
			l.assign(i, role, f.text)
		}
	}
}

// headRole is what the words of a header tell. What has to do with an error is one,
// whatever the other words.
func headRole(name string) (r role) {
	for _, word := range headerWords(name) {
		switch found := headWords[word]; {
		case word == "end" || word == "stop" || word == "duration":
			return noRole
		case found == roleError:
			return roleError
		case found != noRole && (r == noRole || r == roleData):
			r = found
		}
	}
	return r
}

// headerWords are the words of a name. In one that is Latin-1, b5 is the µ of a unit.
func headerWords(name string) []string {
	if !utf8.ValidString(name) {
		name = strings.ReplaceAll(name, "\xb5", "µ")
	}
	return strings.FieldsFunc(strings.ToLower(name), func(c rune) bool { return !unicode.IsLetter(c) && c != 'µ' })
}

// assign gives a column its meaning. Of several for the same, the first one counts;
// of several that hold the characters, the one that says most plainly how.
func (l *csvLayout) assign(index int, r role, name string) {
	first := func(column *int) {
		if *column < 0 {
			*column = index
		}
	}
	switch r {
	case roleTime:
		if l.time < 0 {
			l.setUnit(name)
		}
		first(&l.time)
	case roleStream:
		first(&l.stream)
	case roleMarks:
		first(&l.marks)
	case roleLevel:
		if len(l.levels) < maxStreams {
			l.levels, l.names = append(l.levels, index), append(l.names, name)
		}
	case roleError:
		var mark frame.Mark
		for _, word := range headerWords(name) {
			mark |= markWords[word]
		}
		l.errors = append(l.errors, errorColumn{index, mark})
	case roleHex, roleDecimal, roleData, roleChar:
		if len(l.data) == 0 || plainness(r) > plainness(l.base) {
			l.data, l.titles = l.data[:0], l.titles[:0]
			l.addData(index, r, name)
		} else if r == l.base && l.isOther(name) {
			l.addData(index, r, name)
		}
	}
}

func (l *csvLayout) addData(index int, base role, name string) {
	if len(l.data) == maxStreams {
		return
	}
	l.data, l.titles, l.base = append(l.data, index), append(l.titles, name), base
}

// isOther reports whether a column holds what went another way than what the columns
// of characters hold that are known.
func (l *csvLayout) isOther(name string) bool {
	way := directionOf(name)
	return way != "" && !slices.ContainsFunc(l.titles, func(title string) bool {
		other := directionOf(title)
		return other == "" || other == way
	})
}

func plainness(r role) int { return slices.Index([]role{roleChar, roleData, roleDecimal, roleHex}, r) }

// setUnit takes the unit of times from the words of a header.
func (l *csvLayout) setUnit(name string) {
	for _, word := range headerWords(name) {
		if power, ok := units[word]; ok {
			l.power, l.unit = power, unitNames[power]
		}
	}
}

var unitNames = map[int]string{9: "s", 6: "ms", 3: "µs", 0: "ns", -3: "ps", -6: "fs"}

// what says what was found.
func (l *csvLayout) what(inverted bool) string {
	var b strings.Builder
	if len(l.data) > 0 {
		b.WriteString("CSV of decoded characters: ")
	} else {
		b.WriteString("CSV of levels: ")
	}
	if l.time >= 0 {
		fmt.Fprintf(&b, "time in column %d (%s), ", l.time+1, l.unit)
	}
	if len(l.data) > 0 {
		base := map[role]string{roleHex: "hex", roleDecimal: "decimal", roleChar: "as themselves"}[l.base]
		fmt.Fprintf(&b, "data in column %s (%s)", l.dataText(), base)
	} else {
		var columns []string
		for i, c := range l.levels[:min(8, len(l.levels))] {
			columns = append(columns, fmt.Sprintf("%d (%s)", c+1, l.names[i]))
		}
		if n := len(l.levels) - 8; n > 0 {
			columns = append(columns, fmt.Sprintf("and %d more", n))
		}
		b.WriteString("levels in column " + strings.Join(columns, ", "))
		if inverted {
			b.WriteString(", inverted")
		}
		b.WriteString("; read as 1200 bit/s, 8 bits, odd parity")
	}
	if l.stream >= 0 && len(l.data) > 0 {
		fmt.Fprintf(&b, ", stream in column %d", l.stream+1)
	}
	if l.marks >= 0 {
		fmt.Fprintf(&b, ", marks in column %d", l.marks+1)
	}
	for i, e := range l.errors {
		fmt.Fprintf(&b, [...]string{", errors in column %d", ", %d"}[min(i, 1)], e.index+1)
	}
	return b.String()
}

// dataText is the columns of characters: "2", or "2 (TX) and 3 (RX)".
func (l *csvLayout) dataText() string {
	if len(l.data) == 1 {
		return strconv.Itoa(l.data[0] + 1)
	}
	var b strings.Builder
	for i, c := range l.data {
		if i > 0 {
			b.WriteString([...]string{", ", " and "}[(i+1)/len(l.data)])
		}
		fmt.Fprintf(&b, "%d (%s)", c+1, l.titles[i])
	}
	return b.String()
}
