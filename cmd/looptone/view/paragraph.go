package view

import (
	"strings"
	"unicode/utf8"
)

// Width is how wide the lines of a text become at the most, in characters.
const Width = 100

// Paragraph is text in lines that begin with so many blanks, and those behind the
// first with some more.
func Paragraph(indent, more int, text string) string {
	var b strings.Builder
	column := 0
	for _, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case column == 0:
			b.WriteString(strings.Repeat(" ", indent))
			column = indent
		case column+1+n > Width:
			b.WriteString("\n" + strings.Repeat(" ", indent+more))
			column = indent + more
		default:
			b.WriteString(" ")
			column++
		}
		b.WriteString(word)
		column += n
	}
	b.WriteString("\n")
	return b.String()
}
