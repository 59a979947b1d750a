//go:build unix

package main

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"
)

// A terminal draws what is written to it, as far as a program does that redraws in
// place.
//
// Source: ECMA-48, section 8.3 (control functions); the private modes 25 (cursor) and
// 1049 (other screen) from memory, as terminals on Unix have them.
type terminal struct {
	width, height int
	cells         [][]rune
	row, column   int
	top, bottom   int   // rows that scroll, the last one not included
	kept          saved // the usual screen, while the other is shown
	shows         bool  // the cursor
	other         bool  // the other screen is shown
	clears        int   // of the whole screen
	sequences     int   // that were carried out
	wraps         int   // lines that were too long
	unknown       []string
}

// saved is a screen that is not shown.
type saved struct {
	cells       [][]rune
	row, column int
}

func newTerminal(width, height int) *terminal {
	t := &terminal{width: width, height: height, bottom: height, shows: true}
	t.erase(0, height)
	return t
}

func (t *terminal) erase(from, to int) {
	for len(t.cells) < t.height {
		t.cells = append(t.cells, nil)
	}
	for row := from; row < to; row++ {
		t.cells[row] = []rune(strings.Repeat(" ", t.width))
	}
}

var sequence = regexp.MustCompile(`^\x1b(?:\[([<=>?]*)([0-9;:]*)([ $]?[@-~])|([78M=>])|[()][AB0])`)

func (t *terminal) write(s string) {
	for len(s) > 0 {
		if m := sequence.FindStringSubmatch(s); m != nil {
			s = s[len(m[0]):]
			t.sequences++
			if m[3] != "" {
				t.control(m[1], m[2], m[3])
			}
			if m[4] == "M" {
				t.up()
			} else if m[4] == "7" || m[4] == "8" {
				t.unknown = append(t.unknown, "save or restore the cursor")
			}
			continue
		}
		r, size := utf8.DecodeRuneInString(s)
		s = s[size:]
		t.put(r)
	}
}

func (t *terminal) put(r rune) {
	switch r {
	case '\r':
		t.column = 0
	case '\n':
		t.down(1)
	case '\b':
		t.column = max(0, t.column-1)
	case '\t':
		t.column = min(t.width-1, t.column/8*8+8)
	case '\a', 0x1b:
		if r == 0x1b {
			t.unknown = append(t.unknown, "escape")
		}
	default:
		if t.column == t.width {
			if t.other {
				t.wraps++
			}
			t.column = 0
			t.down(1)
		}
		t.cells[t.row][t.column] = r
		t.column++
	}
}

func (t *terminal) down(n int) {
	for range n {
		if t.row++; t.row == t.bottom {
			t.row--
			t.scroll(t.top, 1)
		}
	}
}

// up moves a row up, and scrolls down at the top.
func (t *terminal) up() {
	if t.row == t.top {
		t.scroll(t.top, -1)
		return
	}
	t.row = max(0, t.row-1)
}

// scroll moves the rows from one on up by n, or down where n is negative.
func (t *terminal) scroll(from, n int) {
	for range max(n, -n) {
		if n > 0 {
			copy(t.cells[from:t.bottom], t.cells[from+1:t.bottom])
			t.erase(t.bottom-1, t.bottom)
		} else {
			copy(t.cells[from+1:t.bottom], t.cells[from:t.bottom-1])
			t.erase(from, from+1)
		}
	}
}

// control carries out a control sequence.
func (t *terminal) control(private, parameters, final string) {
	n := []int{0, 0}
	for i, text := range strings.SplitN(parameters, ";", 2) {
		n[i], _ = strconv.Atoi(text)
	}
	times := max(1, n[0])
	column := min(t.column, t.width-1)
	switch {
	case private == "?" && (final == "h" || final == "l"):
		t.mode(n[0], final == "h")
	case private != "" || strings.ContainsAny(final, "mntpqcu $"): // looks, questions
	case final == "A":
		t.row = max(0, t.row-times)
	case final == "B":
		t.row = min(t.height-1, t.row+times)
	case final == "C":
		t.column = min(t.width-1, column+times)
	case final == "D":
		t.column = max(0, column-times)
	case final == "G", final == "`":
		t.column = min(t.width, times) - 1
	case final == "d":
		t.row = min(t.height, times) - 1
	case final == "I":
		t.column = min(t.width-1, (column/8+times)*8)
	case final == "Z":
		t.column = max(0, ((column+7)/8-times)*8)
	case final == "H", final == "f":
		t.row, t.column = min(t.height, times)-1, min(t.width, max(1, n[1]))-1
	case final == "J":
		t.eraseScreen(n[0])
	case final == "K":
		t.eraseLine(n[0], column)
	case final == "X":
		t.fill(column, min(t.width, column+times), ' ')
	case final == "b":
		t.fill(column, min(t.width, column+times), t.cells[t.row][max(0, column-1)])
		t.column = min(t.width, column+times)
	case final == "L":
		t.scroll(t.row, -times)
	case final == "M":
		t.scroll(t.row, times)
	case final == "S":
		t.scroll(t.top, times)
	case final == "T":
		t.scroll(t.top, -times)
	case final == "r":
		t.top, t.bottom = times-1, t.height
		if n[1] > 0 {
			t.bottom = n[1]
		}
		t.row, t.column = 0, 0
	case final == "P":
		line := t.cells[t.row]
		copy(line[column:], line[min(t.width, column+times):])
		t.fill(max(column, t.width-times), t.width, ' ')
	case final == "@":
		line := t.cells[t.row]
		copy(line[min(t.width, column+times):], line[column:])
		t.fill(column, min(t.width, column+times), ' ')
	default:
		t.unknown = append(t.unknown, fmt.Sprint(private, parameters, final))
	}
}

func (t *terminal) mode(n int, on bool) {
	switch n {
	case 25:
		t.shows = on
	case 1049:
		switch {
		case on && !t.other:
			t.kept = saved{t.cells, t.row, t.column}
			t.cells = nil
			t.erase(0, t.height)
			t.row, t.column = 0, 0
		case !on && t.other:
			t.cells, t.row, t.column = t.kept.cells, t.kept.row, t.kept.column
		}
		t.other = on
	}
}

func (t *terminal) fill(from, to int, r rune) {
	for i := from; i < to; i++ {
		t.cells[t.row][i] = r
	}
}

func (t *terminal) eraseScreen(which int) {
	switch which {
	case 0:
		if t.row == 0 && t.column == 0 {
			t.clears++
		}
		t.eraseLine(0, min(t.column, t.width-1))
		t.erase(t.row+1, t.height)
	case 2:
		t.clears++
		t.erase(0, t.height)
	}
}

func (t *terminal) eraseLine(which, column int) {
	switch which {
	case 0:
		t.fill(column, t.width, ' ')
	case 1:
		t.fill(0, column+1, ' ')
	case 2:
		t.fill(0, t.width, ' ')
	}
}

// text is what stands on the screen, without blanks at the ends.
func (t *terminal) text() string {
	var lines []string
	for _, line := range t.cells {
		lines = append(lines, strings.TrimRight(string(line), " "))
	}
	return strings.TrimRight(strings.Join(lines, "\n"), "\n")
}
