package view

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// prose is text that is being written. Nothing of it allocates beside the bytes
// themselves.
type prose struct{ b []byte }

func (p *prose) say(words ...string) {
	for _, w := range words {
		p.b = append(p.b, w...)
	}
}

func (p *prose) int(n int64) { p.b = strconv.AppendInt(p.b, n, 10) }

func (p *prose) list(words []string, between string) {
	for i, w := range words {
		if i > 0 {
			p.say(between)
		}
		p.say(w)
	}
}

const digits = "0123456789abcdef"

// hex writes bytes as pairs of digits with blanks between.
func (p *prose) hex(b []byte) {
	for i, c := range b {
		if i > 0 {
			p.b = append(p.b, ' ')
		}
		p.b = append(p.b, digits[c>>4], digits[c&0xf])
	}
}

// hexStart writes the beginning of a long stretch of bytes, a short one whole.
func (p *prose) hexStart(b []byte) {
	const most = 32
	if len(b) <= most {
		p.hex(b)
		return
	}
	p.hex(b[:most])
	p.say(" … and ")
	p.int(int64(len(b) - most))
	p.say(" more")
}

// quote puts what was written from start on between quotation marks, and escapes
// what would end them or the line.
func (p *prose) quote(start int) {
	for _, c := range p.b[start:] {
		if c < ' ' || c == 0x7f || c == '"' || c == '\\' || c >= utf8.RuneSelf {
			text := string(p.b[start:])
			p.b = strconv.AppendQuote(p.b[:start], text)
			return
		}
	}
	p.b = append(p.b, '"')
	copy(p.b[start+1:], p.b[start:])
	p.b[start] = '"'
	p.b = append(p.b, '"')
}

// labelled is a paragraph from a column on, with a label before it.
func (p *prose) labelled(indent, column int, label, text string) {
	lines := Paragraph(column, 0, text)
	p.say(fmt.Sprintf("%-*s", column, strings.Repeat(" ", indent)+label), lines[column:])
}

// table writes rows; the first column begins at the left, the others end at the right.
func (p *prose) table(rows [][]string) {
	widths := make([]int, len(rows[0]))
	for _, row := range rows {
		for i, cell := range row {
			widths[i] = max(widths[i], utf8.RuneCountInString(cell))
		}
	}
	for n, row := range rows {
		indent := "  "
		if n == 0 {
			indent = ""
		}
		p.say(indent, row[0], strings.Repeat(" ", widths[0]+4-len(indent)-utf8.RuneCountInString(row[0])))
		for i, cell := range row[1:] {
			p.say(strings.Repeat(" ", widths[i+1]-utf8.RuneCountInString(cell)), cell)
			if i+2 < len(row) {
				p.say("  ")
			}
		}
		p.say("\n")
	}
}
