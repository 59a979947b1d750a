package capture

import "bytes"

// layout is whether the lines of hex text begin with an offset.
type layout uint8

const (
	plain layout = iota // no offset
	colon               // "0010: ff ff"
	bare                // "000010 ff ff"
)

// what names the format for the user.
func (l layout) what() string {
	if l == plain {
		return "hex text"
	}
	return "hex dump with offsets"
}

// cutOffset takes the offset from the front of a line: its digits, how it is
// written, and how many bytes of the line it covers with the blanks before it.
func cutOffset(line []byte) (text []byte, l layout, size int) {
	at := blanks(line)
	short := len(line) - len(cutPrefix(line[at:]))
	n := digits(line[short:])
	end := short + n
	text = line[short:end]
	switch {
	case n == 0 || n > 16:
	case end < len(line) && line[end] == ':' && apart(line[end+1:]):
		return text, colon, end + 1
	case n >= 6 && short == at && apart(line[end:]):
		return text, bare, end
	}
	return nil, plain, 0
}

// blanks is how many blanks b begins with.
func blanks(b []byte) (n int) {
	for n < len(b) && class[b[n]] == blank {
		n++
	}
	return n
}

// apart reports whether what stands before b ends where b begins, and a comma
// is not why.
func apart(b []byte) bool {
	return len(b) == 0 || class[b[0]] == blank || class[b[0]] == newline
}

// layoutOf finds the layout from the first lines with something in them. It is
// not known when text ends too early, unless that is all.
func layoutOf(text []byte, all bool) (l layout, known bool) {
	first, text, known := dataLine(text, all)
	if !known {
		return plain, false
	}
	offset, l, size := cutOffset(first)
	if l == colon && !isEmpty(first[size:]) && !beginsWithPair(first[size:]) {
		l = plain
	}
	if l != bare {
		return l, true
	}
	chars, width := tokens(first[size:])
	if width == 2 && isZero(offset) {
		return bare, true
	}
	second, _, known := dataLine(text, all)
	if !known {
		return plain, false
	}
	if isStar(second) {
		return bare, true
	}
	var follows offsets
	follows.begin(offset, bare)
	follows.add(chars)
	text, l, _ = cutOffset(second)
	if chars == 0 || l != bare || isZero(text) || follows.check(text) != nil {
		l = plain
	}
	return l, true
}

// dataLine is the first line that is neither empty nor a comment, and what
// stands behind it. It is known when its end is there, or text is all.
func dataLine(text []byte, all bool) (line, rest []byte, known bool) {
	for len(text) > 0 {
		end := bytes.IndexByte(text, '\n') + 1
		if end == 0 {
			return text, nil, all
		}
		line, text = text[:end], text[end:]
		if !isEmpty(line) {
			return line, text, true
		}
	}
	return nil, nil, all
}

// isEmpty reports whether a line holds at most a comment.
func isEmpty(line []byte) bool {
	n := blanks(line)
	return n == len(line) || class[line[n]] == newline || class[line[n]] == comment
}

// beginsWithPair reports whether the first token of a line begins with two
// digits.
func beginsWithPair(line []byte) bool {
	line = cutPrefix(line[blanks(line):])
	return digits(line) >= 2
}

// cutPrefix is b without 0x.
func cutPrefix(b []byte) []byte {
	if len(b) > 1 && b[0] == '0' && b[1]|0x20 == 'x' {
		return b[2:]
	}
	return b
}

// isStar reports whether a line begins with the * that stands for repeated ones.
func isStar(line []byte) bool {
	line = line[blanks(line):]
	return len(line) > 0 && line[0] == '*' && apart(line[1:])
}

// tokens is how many characters stand in a line of tokens of one width, in
// digits, up to the first that is not like that.
func tokens(line []byte) (chars, width int) {
	for {
		line = line[blanks(line):]
		n := digits(line)
		if chars == 0 {
			width = n
		}
		if n == 0 || n%2 != 0 || n != width || n < len(line) && !endsToken(class[line[n]]) {
			return chars, width
		}
		chars += n / 2
		line = line[n:]
	}
}
