package userfile

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

// A document is a text of keys and values: the values, and where in the text they
// stand. A value has a path, such as command[2].request[0].fields[1].name.
type document struct {
	file     string
	before   int // lines of the file in front of the text
	text     []byte
	notation *notation
	values   map[string]any
	places   map[string]place

	elsewhere *place // of all that has no place in the text; nil where everything has one
}

// A place is where a key and its value stand in the text; a table has a key only.
type place struct{ key, value span }

// A span is a part of the text.
type span struct{ from, to int }

// byteOrderMark is what some editors put before a text. It is no part of it: places
// count from what is behind it.
const byteOrderMark = "\ufeff"

func newDocument(file string, text []byte) (*document, error) {
	text = bytes.TrimPrefix(text, []byte(byteOrderMark))
	d := &document{file: file, text: text, notation: inTOML, places: map[string]place{}}
	if err := toml.Unmarshal(text, &d.values); err != nil {
		return nil, d.refuseSyntax(err)
	}
	d.walk()
	return d, nil
}

// refuseSyntax keeps what the TOML decoder found wrong.
func (d *document) refuseSyntax(err error) error {
	e := &Error{d.file, 1, 1, err}
	var at *toml.DecodeError
	if errors.As(err, &at) {
		e.Line, e.Column = at.Position()
		e.Err = fmt.Errorf("this is no TOML: %s", strings.TrimPrefix(at.Error(), "toml: "))
	}
	return e
}

// refuse is an error at an offset of the text.
func (d *document) refuse(at int, err error) *Error {
	before := d.text[:at]
	if d.notation.bare {
		return &Error{d.file, 0, 1 + at, err}
	}
	return &Error{d.file, d.before + 1 + bytes.Count(before, []byte("\n")), at - bytes.LastIndexByte(before, '\n'), err}
}

// walk notes the places of a text that has been decoded without an error.
func (d *document) walk() {
	var p unstable.Parser
	p.Reset(d.text)
	elements := map[string]int{} // how many of each array of tables there are so far
	base := ""
	for p.NextExpression() {
		switch e := p.Expression(); e.Kind {
		case unstable.Table, unstable.ArrayTable:
			base = d.header(e, elements)
		case unstable.KeyValue:
			d.keyValue(e, base)
		}
	}
}

// header notes a table's header and gives the table's path. A part that names an
// array of tables means its last element; the last part of [[a.b]] a new one.
func (d *document) header(e *unstable.Node, elements map[string]int) (path string) {
	for keys := e.Key(); keys.Next(); {
		key := keys.Node()
		path = join(path, key)
		if e.Kind == unstable.ArrayTable && keys.IsLast() {
			d.note(path, key)
			elements[path]++
		}
		if n := elements[path]; n > 0 {
			path = Element(path, n-1)
		}
		d.note(path, key)
	}
	return path
}

// keyValue notes the places of a key and its value, below the table with path
// base.
func (d *document) keyValue(e *unstable.Node, base string) {
	path := base
	var first, last *unstable.Node
	for keys := e.Key(); keys.Next(); {
		last = keys.Node()
		if first == nil {
			first = last
		}
		path = join(path, last)
		d.note(path, first)
	}
	d.value(e.Value(), path, last)
}

func (d *document) value(v *unstable.Node, path string, key *unstable.Node) {
	at := spanOf(v)
	if v.Kind == unstable.Array { // of which the parser tells no place
		from := spanOf(key).to
		from += bytes.IndexByte(d.text[from:], '[')
		at = span{from, from + 1}
	}
	d.places[path] = place{d.places[path].key, at}
	n := 0
	for children := v.Children(); children.Next(); n++ {
		switch child := children.Node(); v.Kind {
		case unstable.InlineTable:
			d.keyValue(child, path)
		case unstable.Array:
			inner := Element(path, n)
			d.note(inner, key)
			d.value(child, inner, key)
			if child.Kind == unstable.InlineTable {
				d.places[inner] = place{spanOf(child), spanOf(child)}
			}
		}
	}
}

// note keeps the place of a key, the first time that its path is met.
func (d *document) note(path string, key *unstable.Node) {
	if _, ok := d.places[path]; !ok {
		d.places[path] = place{spanOf(key), spanOf(key)}
	}
}

func spanOf(n *unstable.Node) span {
	return span{int(n.Raw.Offset), int(n.Raw.Offset + n.Raw.Length)}
}

func join(path string, key *unstable.Node) string { return Below(path, string(key.Data)) }

// Below is the path of a key in the table with that path.
func Below(path, key string) string {
	switch {
	case path == "":
		return key
	case key == "":
		return path
	}
	return path + "." + key
}

// Element is the path of element i of the array with that path.
func Element(path string, i int) string { return fmt.Sprintf("%s[%d]", path, i) }
