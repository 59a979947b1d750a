package capture

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// charField are the characters in a field of a row, and where each stands.
type charField struct {
	chars   []byte
	columns []int64
}

var (
	errHexField  = errors.New("is no hex byte: want two hex digits a character")
	errDecField  = errors.New("is no decimal byte: want 0 to 255")
	errCharField = errors.New(`is no character: want one, for instance A, or an escape, for instance \x02`)
	errManyChars = errors.New("more than 4096 characters in one place")
)

// read reads what stands in column of a line. At an error, at is where in its text.
func (c *charField) read(base role, text string, column int64) (at int, err error) {
	c.chars, c.columns = c.chars[:0], c.columns[:0]
	if base == roleChar {
		char, ok := oneChar(text)
		if !ok {
			return 0, fmt.Errorf("%q %w", shortened(text), errCharField)
		}
		return 0, c.add(char, column)
	}
	for at < len(text) {
		if strings.IndexByte(" ,;:-\t", text[at]) >= 0 {
			at++
			continue
		}
		n, err := c.word(base, text[at:], column+int64(at))
		if err != nil {
			return at, err
		}
		at += n
	}
	return 0, nil
}

// word reads the characters that text begins with; n is how long they are.
func (c *charField) word(base role, text string, column int64) (n int, err error) {
	if base == roleDecimal && len(cutPrefix([]byte(text))) == len(text) {
		n = decimals([]byte(text))
		value, err := strconv.ParseUint(text[:n], 10, 8)
		if err != nil || n < len(text) && strings.IndexByte(" ,;:-\t", text[n]) < 0 {
			return 0, fmt.Errorf("%q %w", shortened(text), errDecField)
		}
		return n, c.add(byte(value), column)
	}
	rest := cutPrefix([]byte(text))
	n = len(text) - len(rest)
	if digits(rest) == 1 && n > 0 { // 0x5
		return n + 1, c.add(class[rest[0]], column)
	}
	pairs := digits(rest) / 2
	if pairs == 0 || digits(rest)%2 != 0 {
		return 0, fmt.Errorf("%q %w", shortened(text), errHexField)
	}
	for i := range pairs {
		if err := c.add(class[rest[2*i]]<<4|class[rest[2*i+1]], column+int64(n+2*i)); err != nil {
			return 0, err
		}
	}
	return n + 2*pairs, nil
}

func (c *charField) add(char byte, column int64) error {
	if len(c.chars) == maxRecord {
		return errManyChars
	}
	c.chars, c.columns = append(c.chars, char), append(c.columns, column)
	return nil
}

// oneChar reads a character of Latin-1, also between quotation marks or as an escape.
func oneChar(text string) (byte, bool) {
	if len(text) > 2 && text[0] == '\'' && text[len(text)-1] == '\'' {
		text = text[1 : len(text)-1]
	}
	if text == `\0` {
		return 0, true
	}
	r, _, rest, err := strconv.UnquoteChar(text, 0)
	return byte(r), err == nil && rest == "" && r <= 0xff
}
