package capture

import (
	"errors"
	"strings"
)

// csvField is a field of a row of CSV, without blanks around it and without its
// quotation marks.
type csvField struct {
	text   string
	column int64 // where the text begins in its line, in bytes from 1
}

var (
	errQuote  = errors.New("quotation mark is not closed on its line")
	errBehind = errors.New("something stands behind a closed quotation mark: want the separator")
)

// splitRow appends the fields of a line. At an error, at is where in the line.
func splitRow(fields []csvField, line string, separator byte) (_ []csvField, at int, err error) {
	for {
		for at < len(line) && (line[at] == ' ' || line[at] == '\t' && separator != '\t') {
			at++
		}
		var f csvField
		next := at
		if at < len(line) && line[at] == '"' {
			if f, next, err = quotedField(line, at, separator); err != nil {
				return fields, next, err
			}
		} else {
			if next = strings.IndexByte(line[at:], separator); next < 0 {
				next = len(line) - at
			}
			next += at
			f = csvField{strings.TrimRight(line[at:next], " \t"), int64(at) + 1}
		}
		fields = append(fields, f)
		if next >= len(line) {
			return fields, 0, nil
		}
		at = next + 1
	}
}

// quotedField reads a field that begins with a quotation mark at at; a doubled one in
// it is one. next is where the separator behind it stands.
func quotedField(line string, at int, separator byte) (f csvField, next int, err error) {
	doubled := false
	for next = at + 1; ; next++ {
		i := strings.IndexByte(line[next:], '"')
		if i < 0 {
			return f, at, errQuote
		}
		if next += i + 1; next >= len(line) || line[next] != '"' {
			break
		}
		doubled = true
	}
	text := line[at+1 : next-1]
	if doubled {
		text = strings.ReplaceAll(text, `""`, `"`)
	}
	for next < len(line) && line[next] == ' ' {
		next++
	}
	if next < len(line) && line[next] != separator {
		return f, next, errBehind
	}
	return csvField{text, int64(at) + 2}, next, nil
}
