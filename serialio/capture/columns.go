package capture

import (
	"fmt"
	"strings"
)

// role is what a column means.
type role uint8

const (
	noRole role = iota
	roleTime
	roleData // of characters, in a base that is found out
	roleHex
	roleDecimal
	roleChar
	roleStream
	roleError // errors of a character
	roleMarks // all that is known of a character
	roleLevel
)

// isData reports whether a column holds characters.
func (r role) isData() bool {
	return r == roleData || r == roleHex || r == roleDecimal || r == roleChar
}

// roles are the words that --columns takes.
var roles = map[string]role{
	"time": roleTime, "data": roleData, "hex": roleHex, "dec": roleDecimal, "char": roleChar,
	"stream": roleStream, "error": roleError, "marks": roleMarks, "level": roleLevel,
}

// chosen is a column by its name or number.
type chosen struct {
	role       role
	word, name string
}

// parseColumns reads "time=1,hex=Data". A name that holds a comma cannot be written;
// a column's number can.
func parseColumns(text string) (columns []chosen, err error) {
	if text == "" {
		return nil, nil
	}
	for pair := range strings.SplitSeq(text, ",") {
		word, name, ok := strings.Cut(pair, "=")
		role := roles[strings.TrimSpace(word)]
		switch {
		case !ok || strings.TrimSpace(name) == "":
			return nil, fmt.Errorf("--columns: %q is no choice of a column: want for instance time=1,hex=Data", pair)
		case role == noRole:
			return nil, fmt.Errorf("--columns: %q is not known: want time, data, hex, dec, char, stream, error, marks or level", word)
		}
		columns = append(columns, chosen{role, strings.TrimSpace(word), strings.TrimSpace(name)})
	}
	return columns, nil
}
