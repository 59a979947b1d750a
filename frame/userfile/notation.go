package userfile

import (
	"encoding/json"
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// A notation is how a text is written, and so what a message shows as right.
type notation struct {
	table   string                   // what a message calls a table
	header  string                   // of a table, for fmt
	headers string                   // of each of several tables
	tables  string                   // several tables that are wanted
	assign  string                   // a key and its value
	example func(toml string) string // a value
	bare    bool                     // texts stand without quotes, and all is in one line
}

var (
	inTOML = &notation{
		table: "a table", header: "[%s]", headers: "[[%s]]", tables: "tables under [[%s]]", assign: "%s = %s",
		example: func(toml string) string { return toml },
	}
	inJSON = &notation{
		table: "an object", header: "%q", headers: "%q", tables: "an array of objects under %q", assign: "%q: %s",
		example: jsonOf,
	}
	inWords = &notation{
		table: "a table", header: "[%s]", headers: "[[%s]]", tables: "tables under [[%s]]", assign: "%s=%s", bare: true,
		example: func(toml string) string { return strings.Trim(toml, `"`) },
	}
)

// given is a key with an example of its value, which is written in TOML.
func (n *notation) given(key, toml string) string { return fmt.Sprintf(n.assign, key, n.example(toml)) }

// jsonOf is a value that is written in TOML as JSON has it.
func jsonOf(text string) string {
	var of struct{ Value any }
	if err := toml.Unmarshal([]byte("Value = "+text), &of); err != nil {
		return text
	}
	value, err := json.Marshal(of.Value)
	if err != nil {
		return text
	}
	return string(value)
}
