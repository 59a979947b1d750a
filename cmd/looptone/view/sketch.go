package view

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// px is a length in a sketch, or a place from its left or upper edge.
type px float64

// String is x to the hundredth, without zeros at its end.
func (x px) String() string {
	s := strconv.FormatFloat(float64(x), 'f', 2, 64)
	s = strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

// A sketch is a picture (SVG) that is being written.
type sketch struct{ b bytes.Buffer }

// put writes elements; what is not a number in them needs no escaping.
func (d *sketch) put(format string, numbers ...any) {
	fmt.Fprintf(&d.b, format, numbers...)
	d.b.WriteByte('\n')
}

// hold writes an element that holds a text.
func (d *sketch) hold(element, attributes, text string) {
	d.b.WriteString("<" + element + attributes + ">")
	xml.EscapeText(&d.b, []byte(text)) // a buffer takes everything
	d.b.WriteString("</" + element + ">\n")
}

// text writes a line of text whose base line begins at x, y, and more attributes.
func (d *sketch) text(x, y px, text string, more ...string) {
	attributes := fmt.Sprintf(` x="%v" y="%v"`, x, y)
	for _, a := range more {
		attributes += " " + a
	}
	d.hold("text", attributes, text)
}

// upright writes a text that reads from below to above, its base line at x and its
// beginning at y.
func (d *sketch) upright(x, y px, text string) {
	d.put(`<g transform="translate(%v %v) rotate(-90)">`, x, y)
	d.text(0, 0, text)
	d.put(`</g>`)
}

const (
	centred = `text-anchor="middle"`
	atEnd   = `text-anchor="end"`
)

// An area is what a text or a mark covers at most.
type area struct{ left, top, right, bottom px }

func (a area) meets(b area) bool {
	return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom
}

func (a area) meetsAny(others []area) bool { return slices.ContainsFunc(others, a.meets) }

// textArea is what a text covers that begins at x on the base line y.
func textArea(x, y, width, size px) area { return area{x, y - size, x + width, y + size/3} }

// base is the base line of a text that covers the area.
func (a area) base(size px) px { return a.bottom - size/3 }

// textWidth is what a text takes up at most in the usual fonts without serifs.
func textWidth(text string, size px) (width px) {
	for _, r := range text {
		width += runeWidth(r)
	}
	return width * size
}

// boldWidth is how many times as wide bold text is at most.
const boldWidth px = 1.15

func runeWidth(r rune) px {
	switch {
	case strings.ContainsRune(" .,:;'|!()[]ijlI-/", r):
		return 0.41
	case strings.ContainsRune("rtf", r):
		return 0.43
	case strings.ContainsRune("sczkvxyJ", r):
		return 0.6
	case 'a' <= r && r <= 'z' && r != 'm' && r != 'w', '0' <= r && r <= '9':
		return 0.65
	case 'A' <= r && r <= 'Z' && r != 'M' && r != 'W':
		return 0.79
	case r < 0x1100:
		return 1
	}
	return 1.2 // scripts that are as wide as high
}

// shortened is a text of at most so many characters.
func shortened(text string, most int) string {
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	return string([]rune(text)[:most-1]) + "…"
}

// wrapped divides a text into lines, between words where that can be done.
func wrapped(text string, size, width px) (lines []string) {
	line := ""
	for _, word := range strings.Fields(text) {
		for textWidth(word, size) > width {
			head := beginning(word, size, width)
			if line != "" {
				lines, line = append(lines, line), ""
			}
			lines, word = append(lines, head), word[len(head):]
		}
		switch longer := line + " " + word; {
		case line == "":
			line = word
		case textWidth(longer, size) <= width:
			line = longer
		default:
			lines, line = append(lines, line), word
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// beginning is the beginning of a word that fits a width: at least one character.
func beginning(word string, size, width px) string {
	for i, r := range word {
		width -= runeWidth(r) * size
		if width < 0 && i > 0 {
			return word[:i]
		}
	}
	return word
}
