package userfile

import (
	"fmt"
	"slices"
	"strings"

	"looptone/frame/near"
)

// A Table is a table of TOML, or an object of JSON, that is being read. Its methods note the first thing
// that is wrong and go on, so that reading is a plain list of keys; [Table.End]
// tells.
type Table struct {
	Name string // as a message calls it; whoever reads the table may know a better one

	doc    *document
	path   string
	within string // its path below the element of an array that it is in, if it is in one
	values map[string]any

	known   []string // keys that were asked for
	wrong   error    // the first value that was refused
	missing error    // the first key that must be there and is not
}

// Parse reads TOML and gives its top level. Any key there but keys is refused at
// once, before what is missing: it may be what was meant. file is what errors, all
// of them an [*Error], call the text.
func Parse(file string, text []byte, keys ...string) (*Table, error) {
	doc, err := newDocument(file, text)
	if err != nil {
		return nil, err
	}
	t := &Table{Name: "the top level of the file", doc: doc, values: doc.values, known: slices.Clone(keys)}
	if err := t.End(); err != nil {
		return nil, err
	}
	return t, nil
}

// End gives the first thing that was wrong in the table, nil for nothing. A key
// that is near a known one is told before a missing key, since it may be that key.
func (t *Table) End() error {
	if t.wrong != nil {
		return t.wrong
	}
	key, instead := t.unknown()
	switch {
	case instead != "":
		return t.refuseKey(key, "did you mean %q?", instead)
	case t.missing != nil:
		return t.missing
	case key != "":
		return t.refuseKey(key, "known are %s", strings.Join(slices.Sorted(slices.Values(t.known)), ", "))
	}
	return nil
}

// unknown is the first key that was not asked for, or the first of those that are
// near one that was.
func (t *Table) unknown() (key, instead string) {
	for _, k := range t.Keys() {
		if slices.Contains(t.known, k) {
			continue
		}
		if instead := near.Name(k, t.known); instead != "" {
			return k, instead
		}
		if key == "" {
			key = k
		}
	}
	return key, ""
}

func (t *Table) refuseKey(key, hint string, args ...any) error {
	return t.doc.refuse(t.place(key).key.from,
		fmt.Errorf("unknown key %q in %s: "+hint, append([]any{key, t.Name}, args...)...))
}

// Sound reports whether nothing has been refused so far.
func (t *Table) Sound() bool { return t.wrong == nil && t.missing == nil }

// Refuse notes what is wrong with the value at a path. It is placed at the
// innermost table around that is there.
func (t *Table) Refuse(path string, err error) {
	t.Adopt(t.Placed(path, err))
}

// Placed is err at the place at which [Table.Refuse] refuses; it is not noted.
func (t *Table) Placed(path string, err error) *Error { return t.doc.refuse(t.where(path), err) }

// RefuseValue refuses the value of a key for what it is; want and args are as for
// fmt. The key is named with the tables around it, up to the element of an array
// that they are in.
func (t *Table) RefuseValue(key, want string, args ...any) {
	t.Refuse(key, fmt.Errorf("%s: got %s, want "+want, append([]any{Below(t.within, key), t.got(key)}, args...)...))
}

// got is a value as a message shows it.
func (t *Table) got(key string) string {
	switch v := t.values[key].(type) {
	case string:
		return fmt.Sprintf("the string %q", v)
	case map[string]any:
		return t.doc.notation.table
	case []any:
		return "an array"
	}
	if at, ok := t.doc.places[Below(t.path, key)]; ok {
		return string(t.doc.text[at.value.from:at.value.to])
	}
	return fmt.Sprint(t.values[key])
}

// Need notes that key is missing, if it is; example shows how it is given.
func (t *Table) Need(key, example string) {
	if !t.Has(key) && t.missing == nil {
		t.missing = t.doc.refuse(t.doc.place(t.path).key.from,
			fmt.Errorf("%s has no %s, want for instance %s", t.Name, key, t.doc.notation.given(key, example)))
	}
}

// NeedOne notes that none of some keys is there, if so; example is a value of the
// key instance.
func (t *Table) NeedOne(keys []string, instance, example string) {
	if !slices.ContainsFunc(keys, t.Has) && t.missing == nil {
		t.missing = t.doc.refuse(t.doc.place(t.path).key.from, fmt.Errorf("%s has none of %s, want for instance %s",
			t.Name, strings.Join(keys, ", "), t.doc.notation.given(instance, example)))
	}
}

// NeedBeside notes that key, which is there, wants another key beside it.
func (t *Table) NeedBeside(key, other string) {
	if !t.Has(other) && t.missing == nil {
		t.missing = t.doc.refuse(t.where(key), fmt.Errorf("%s stands without a %s, want both", key, other))
	}
}

// Adopt notes an error that has its place already.
func (t *Table) Adopt(err error) {
	if t.wrong == nil {
		t.wrong = err
	}
}

// Line is the number of the line that holds the key of a path.
func (t *Table) Line(path string) int { return t.doc.refuse(t.place(path).key.from, nil).Line }

func (t *Table) place(path string) place { return t.doc.place(Below(t.path, path)) }

func (d *document) place(path string) place {
	at, ok := d.places[path]
	if !ok && d.elsewhere != nil {
		return *d.elsewhere
	}
	return at
}

// where is the offset of a value, or of the innermost table around it that is
// there.
func (t *Table) where(path string) int {
	path = Below(t.path, path)
	for path != t.path {
		if at, ok := t.doc.places[path]; ok {
			return at.value.from
		}
		path = path[:max(strings.LastIndexByte(path, '.'), len(t.path))]
	}
	if t.doc.elsewhere != nil {
		return t.doc.elsewhere.value.from
	}
	return t.doc.places[t.path].key.from
}
