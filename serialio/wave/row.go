package wave

import (
	"bytes"
	"math"
	"strconv"
)

// field is a field of a row, without blanks and quotation marks around it.
type field struct {
	text   []byte
	column int64 // where it begins in its line, in bytes from 1
}

// splitRow appends the fields of a line. In quotation marks a separator is none; of
// blanks for separators, several are one.
func splitRow(fields []field, line []byte, separator byte) []field {
	for at := 0; ; {
		if separator == ' ' {
			line = bytes.TrimRight(line, " \t")
			at += blanks(line[at:])
		}
		end := len(line)
		behind := at
		if begin := at + blanks(line[at:]); begin < len(line) && line[begin] == '"' {
			behind = begin + 1 + max(0, bytes.IndexByte(line[begin+1:], '"'))
		}
		if i := bytes.IndexByte(line[behind:], separator); i >= 0 {
			end = behind + i
		}
		text := line[at:end]
		begin := blanks(text)
		text = bytes.TrimRight(text[begin:], " \t")
		if len(text) >= 2 && text[0] == '"' && text[len(text)-1] == '"' {
			text = text[1 : len(text)-1]
			begin++
		}
		fields = append(fields, field{text, int64(at+begin) + 1})
		if end == len(line) {
			return fields
		}
		at = end + 1
	}
}

func blanks(b []byte) int { return len(b) - len(bytes.TrimLeft(b, " \t")) }

// mostDigits is more than a number has that somebody measured.
const mostDigits = 40

// digits are how finely a number is written.
type digits struct {
	places      int // behind the decimal sign, if it had no exponent
	significant int // from the first that is not 0
}

// readNumber reads a number, with a point or a comma for a decimal sign, and with or
// without an exponent. What it does not know as a number, such as NaN, is not ok.
func readNumber(text []byte) (value float64, d digits, ok bool) {
	var room [mostDigits]byte
	if len(text) == 0 || len(text) > len(room) {
		return 0, d, false
	}
	point, exponent := false, len(text)
	for i, c := range text {
		switch {
		case c >= '0' && c <= '9':
			if point {
				d.places++
			}
			if c > '0' || d.significant > 0 {
				d.significant++
			}
		case (c == '.' || c == ',') && !point:
			point, c = true, '.'
		case (c == 'e' || c == 'E') && i > 0:
			exponent = i
		case c == '+' || c == '-':
		default:
			return 0, d, false
		}
		room[i] = c
		if exponent < len(text) {
			copy(room[i:], text[i:])
			break
		}
	}
	value, err := strconv.ParseFloat(string(room[:len(text)]), 64)
	if err != nil || math.IsInf(value, 0) {
		return 0, d, false
	}
	if exponent < len(text) {
		power, _ := strconv.Atoi(string(text[exponent+1:]))
		d.places -= power
	}
	return value, d, true
}
