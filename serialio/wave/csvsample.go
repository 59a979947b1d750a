package wave

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// csvSample is the beginning of a CSV under one separator.
type csvSample struct {
	rows    [][]field
	numeric []bool // columns that hold numbers from some row on
}

// sampleOf takes whole lines apart.
func sampleOf(text []byte, separator byte) (s csvSample) {
	for line := range bytes.Lines(text) {
		s.rows = append(s.rows, unmarked(splitRow(nil, bytes.TrimRight(line, "\r\n"), separator)))
	}
	const most = 256
	count, full := [most]int{}, 0
	for _, row := range s.rows[len(s.rows)/2:] {
		if isBlank(row) {
			continue
		}
		full++
		for i := range row[:min(len(row), most)] {
			if _, _, ok := readNumber(row[i].text); ok {
				count[i]++
			}
		}
	}
	for _, n := range count {
		s.numeric = append(s.numeric, full > 0 && 10*n >= 9*full)
	}
	return s
}

// unmarked is a row without the mark of a remark that stands alone before a name, as in
// "# time volts".
func unmarked(row []field) []field {
	if len(row) < 2 || len(row[0].text) != 1 || !bytes.Contains([]byte("#;%"), row[0].text) {
		return row
	}
	if _, _, number := readNumber(row[1].text); number {
		return row
	}
	return row[1:]
}

func isBlank(row []field) bool {
	return !slices.ContainsFunc(row, func(f field) bool { return len(f.text) > 0 })
}

// numbers is how many columns hold numbers.
func (s *csvSample) numbers() (n int) {
	for _, is := range s.numeric {
		if is {
			n++
		}
	}
	return n
}

// column is the index of a column by its name in some line, or by its number; −1 of "".
func (s *csvSample) column(name string) (int, error) {
	if name == "" {
		return -1, nil
	}
	for _, row := range s.rows {
		for i, f := range row {
			if _, _, number := readNumber(f.text); !number && strings.EqualFold(decoded(f.text), name) {
				return i, nil
			}
		}
	}
	if n, err := strconv.Atoi(name); err == nil && n >= 1 && n <= 9999 {
		return n - 1, nil
	}
	return -1, fmt.Errorf("--columns: no column is called %q", name)
}

// times is the column of numbers that a header calls so; −1 for none.
func (s *csvSample) times(but int) int {
	for _, row := range s.rows {
		for i, f := range row[:min(len(row), len(s.numeric))] {
			if s.numeric[i] && i != but && slices.ContainsFunc(wordsOf(f.text), func(word string) bool { return timeWords[word] }) {
				return i
			}
		}
	}
	return -1
}

// firstBut is the first column of numbers other than one; −1 for none.
func (s *csvSample) firstBut(but int) int {
	for i, is := range s.numeric {
		if is && i != but {
			return i
		}
	}
	return -1
}

// firstRow is how many lines stand in front of the first row: of two that follow each
// other, if there are so many, as a remark can hold numbers too.
func (s *csvSample) firstRow(l *csvLayout) int {
	isRow := func(row []field) bool {
		_, ok := numbersOf(l, row)
		return ok
	}
	for i, row := range s.rows {
		if !isRow(row) {
			continue
		}
		next := i + 1
		for next < len(s.rows) && isBlank(s.rows[next]) {
			next++
		}
		if next == len(s.rows) || isRow(s.rows[next]) {
			return i
		}
	}
	// Nothing is a row: it begins behind what stands in front of the first number.
	for i, row := range s.rows {
		if slices.ContainsFunc(row, func(f field) bool { _, _, ok := readNumber(f.text); return ok }) {
			return i
		}
	}
	return len(s.rows)
}

// wordsOf are the words of a header's field.
func wordsOf(text []byte) []string {
	return strings.FieldsFunc(strings.ToLower(decoded(text)), func(c rune) bool { return !unicode.IsLetter(c) })
}

// decoded is a text in UTF-8. In one that is Latin-1, b5 is the µ of a unit.
func decoded(text []byte) string {
	if utf8.Valid(text) {
		return string(text)
	}
	return strings.ReplaceAll(string(text), "\xb5", "µ")
}
