package userfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// What a JSON text may hold at the most. It may come from anywhere, and each value
// has its path kept.
const (
	mostValues  = 10_000
	deepest     = 16
	longestKey  = 100  // bytes
	longestText = 1000 // bytes; of a number too
)

// ParseJSON reads a JSON object as [Parse] reads a TOML file: a whole number is an
// int64, another one a float64; null is a value that is never right. Without keys,
// none is refused at once.
func ParseJSON(file string, text []byte, keys ...string) (*Table, error) {
	doc, err := newJSON(file, 1, text)
	if err != nil {
		return nil, err
	}
	t := newObject(doc, keys...)
	if len(keys) > 0 {
		if err := t.End(); err != nil {
			return nil, err
		}
	}
	return t, nil
}

// ParseJSONLine is [ParseJSON] of one line of a file, which has that number, from 1.
func ParseJSONLine(file string, line int, text []byte) (*Table, error) {
	doc, err := newJSON(file, line, text)
	if err != nil {
		return nil, err
	}
	return newObject(doc), nil
}

func newObject(doc *document, keys ...string) *Table {
	return &Table{Name: "the object", doc: doc, values: doc.values, known: slices.Clone(keys)}
}

func newJSON(file string, line int, text []byte) (*document, error) {
	text = bytes.TrimPrefix(text, []byte(byteOrderMark))
	d := &document{file: file, before: line - 1, text: text, notation: inJSON, places: map[string]place{}}
	if err := d.checkJSON(); err != nil {
		return nil, err
	}
	r := jsonReader{document: d, tokens: json.NewDecoder(bytes.NewReader(text))}
	r.tokens.UseNumber()
	v := r.value("", 0)
	var ok bool
	if d.values, ok = v.(map[string]any); !ok {
		r.refuse(d.places[""].value.from, errors.New("this is no object, want one in braces"))
	}
	if r.wrong != nil {
		return nil, r.wrong
	}
	return d, nil
}

// checkJSON refuses what is no JSON.
func (d *document) checkJSON() error {
	if at := invalidUTF8(d.text); at >= 0 {
		return d.refuse(at, fmt.Errorf("this is no JSON: byte %02x is no UTF-8", d.text[at]))
	}
	var whole json.RawMessage
	err := json.Unmarshal(d.text, &whole)
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		at := int(syntax.Offset)
		if at > 0 && at < len(d.text) || strings.HasPrefix(syntax.Error(), "invalid character") {
			at-- // the character that was read last
		}
		return d.refuse(min(max(at, 0), len(d.text)), fmt.Errorf("this is no JSON: %w", syntax))
	}
	return err
}

// invalidUTF8 is the offset of the first byte that is no UTF-8, -1 without one.
func invalidUTF8(text []byte) int {
	if utf8.Valid(text) {
		return -1
	}
	for at := 0; at < len(text); {
		r, n := utf8.DecodeRune(text[at:])
		if r == utf8.RuneError && n == 1 {
			return at
		}
		at += n
	}
	return -1
}

// A jsonReader reads values and notes where they stand.
type jsonReader struct {
	*document
	tokens *json.Decoder // of a text that is JSON
	values int
	wrong  error // the first thing that was
}

// refuse notes what is wrong at an offset.
func (r *jsonReader) refuse(at int, err error) {
	if r.wrong == nil {
		r.wrong = r.document.refuse(at, err)
	}
}

// token is the next one and where it stands.
func (r *jsonReader) token() (json.Token, span) {
	from := int(r.tokens.InputOffset())
	from += len(r.text[from:]) - len(bytes.TrimLeft(r.text[from:], " \t\r\n,:"))
	token, err := r.tokens.Token()
	if err != nil {
		r.refuse(from, err)
	}
	return token, span{from, int(r.tokens.InputOffset())}
}

// value reads the value at a path, which may be that of a key.
func (r *jsonReader) value(path string, depth int) any {
	token, at := r.token()
	key := at
	if before, ok := r.places[path]; ok {
		key = before.key
	}
	r.places[path] = place{key, at}
	switch r.values++; {
	case r.wrong != nil:
		return nil
	case depth > deepest:
		r.refuse(at.from, fmt.Errorf("values lie in one another more than %d deep", deepest))
		return nil
	case r.values > mostValues:
		r.refuse(at.from, fmt.Errorf("these are more than %d values", mostValues))
		return nil
	}
	switch v := token.(type) {
	case json.Delim:
		if v == '{' {
			return r.object(path, depth)
		}
		return r.array(path, depth)
	case json.Number:
		return r.number(string(v), at)
	case string:
		r.short("text", v, at, longestText)
		return v
	}
	return token
}

func (r *jsonReader) object(path string, depth int) map[string]any {
	values := map[string]any{}
	for r.wrong == nil && r.tokens.More() {
		token, at := r.token()
		key, _ := token.(string)
		if r.short("key", key, at, longestKey); r.wrong != nil {
			break
		}
		if _, twice := values[key]; twice {
			r.refuse(at.from, fmt.Errorf("key %q is there twice, want it once", key))
			break
		}
		inner := Below(path, key)
		r.places[inner] = place{key: at}
		values[key] = r.value(inner, depth+1)
	}
	r.end()
	return values
}

func (r *jsonReader) array(path string, depth int) []any {
	list := []any{}
	for r.wrong == nil && r.tokens.More() {
		list = append(list, r.value(Element(path, len(list)), depth+1))
	}
	r.end()
	return list
}

// end reads the bracket that ends an object or an array.
func (r *jsonReader) end() {
	if r.wrong == nil {
		r.token()
	}
}

// number is a number as TOML would give it.
func (r *jsonReader) number(text string, at span) any {
	if r.short("number", text, at, longestText); r.wrong != nil {
		return nil
	}
	if strings.ContainsAny(text, ".eE") {
		x, err := strconv.ParseFloat(text, 64)
		if err != nil {
			r.refuse(at.from, fmt.Errorf("number %s is too large", text))
		}
		return x
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		r.refuse(at.from, fmt.Errorf("number %s is too large", text))
	}
	return n
}

// short refuses a text that is too long to repeat it.
func (r *jsonReader) short(what, text string, at span, most int) {
	if len(text) > most {
		r.refuse(at.from, fmt.Errorf("this %s has %d bytes, want at most %d", what, len(text), most))
	}
}
