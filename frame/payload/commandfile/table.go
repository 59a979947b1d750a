package commandfile

import (
	"fmt"
	"slices"
	"strings"
)

// A table is a TOML table that is being read. Its methods note the first thing
// that is wrong and go on, so that reading is a plain list of keys;
// [table.end] tells.
type table struct {
	doc    *document
	path   string
	name   string // as a message calls it
	values map[string]any

	known   []string // keys that were asked for
	wrong   error    // the first value that was refused
	missing error    // the first key that must be there and is not
}

// end refuses the table if something in it was wrong, or was not asked for. A key
// that is near a known one is told before a missing key, since it may be that key.
func (t *table) end() error {
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
func (t *table) unknown() (key, instead string) {
	var keys []string
	for key := range t.values {
		if !slices.Contains(t.known, key) {
			keys = append(keys, key)
		}
	}
	slices.SortFunc(keys, func(a, b string) int { return t.place(a).key.from - t.place(b).key.from })
	for _, key := range keys {
		if instead := near(key, t.known); instead != "" {
			return key, instead
		}
	}
	if len(keys) == 0 {
		return "", ""
	}
	return keys[0], ""
}

func (t *table) refuseKey(key, hint string, args ...any) error {
	return t.doc.refuse(t.place(key).key.from,
		fmt.Errorf("unknown key %q in %s: "+hint, append([]any{key, t.name}, args...)...))
}

func (t *table) place(key string) place { return t.doc.places[below(t.path, key)] }

// where is the offset of a value, or of the innermost table around it that is
// there.
func (t *table) where(key string) int {
	path := below(t.path, key)
	for path != t.path {
		if at, ok := t.doc.places[path]; ok {
			return at.value.from
		}
		path = path[:max(strings.LastIndexByte(path, '.'), len(t.path))]
	}
	return t.doc.places[t.path].key.from
}

// refuse notes what is wrong with the value of key.
func (t *table) refuse(key string, err error) {
	if t.wrong == nil {
		t.wrong = t.doc.refuse(t.where(key), err)
	}
}

// adopt takes over the error of a table within.
func (t *table) adopt(err error) {
	if t.wrong == nil {
		t.wrong = err
	}
}

// sound reports whether nothing has been refused so far.
func (t *table) sound() bool { return t.wrong == nil && t.missing == nil }

// need notes that key is missing, if it is; example shows how it is given.
func (t *table) need(key, example string) {
	if _, ok := t.values[key]; !ok && t.missing == nil {
		t.missing = t.doc.refuse(t.doc.places[t.path].key.from,
			fmt.Errorf("%s has no %s, want for instance %s = %s", t.name, key, key, example))
	}
}

// needBeside notes that key, which is there, wants another key beside it.
func (t *table) needBeside(key, other string) {
	if t.missing == nil {
		t.missing = t.doc.refuse(t.where(key), fmt.Errorf("%s stands without a %s, want both", key, other))
	}
}

// ask gives the value of a key, which is known from now on.
func (t *table) ask(key string) (v any, ok bool) {
	t.known = append(t.known, key)
	v, ok = t.values[key]
	return v, ok
}

// refuseValue refuses a value for what it is.
func (t *table) refuseValue(key, want string, args ...any) {
	t.refuse(key, fmt.Errorf("%s: got %s, want "+want, append([]any{key, t.got(key)}, args...)...))
}

// got is a value as a message shows it.
func (t *table) got(key string) string {
	switch v := t.values[key].(type) {
	case string:
		return fmt.Sprintf("the string %q", v)
	case map[string]any:
		return "a table"
	case []any:
		return "an array"
	}
	at := t.place(key).value
	return string(t.doc.text[at.from:at.to])
}

// sub reads the table under key, if it is there.
func (t *table) sub(key string, read func(t *table)) {
	v, ok := t.ask(key)
	if !ok {
		return
	}
	values, ok := v.(map[string]any)
	if !ok {
		t.refuseValue(key, "a table")
		return
	}
	t.adopt(t.read(key, "["+label(below(t.path, key))+"]", values, read))
}

// each reads the tables under key, in the order of the file.
func (t *table) each(key string, read func(t *table)) {
	v, ok := t.ask(key)
	if !ok {
		return
	}
	header := label(below(t.path, key))
	list, ok := v.([]any)
	if _, single := v.(map[string]any); single {
		t.refuse(key, fmt.Errorf("[%s] stands in single brackets, want [[%s]]: there may be several", header, header))
	} else if !ok {
		t.refuseValue(key, "tables under [[%s]]", header)
	}
	t.readAll(key, "[["+header+"]]", "table", "[["+header+"]]", list, read)
}

// list reads an array of inline tables; name is one of them in words, and example
// one in TOML.
func (t *table) list(key, name, example string, read func(t *table)) {
	v, ok := t.ask(key)
	if !ok {
		return
	}
	list, ok := v.([]any)
	if !ok {
		t.refuseValue(key, "a list, for instance %s = [ %s ]", key, example)
	}
	t.readAll(key, "the "+name, name, example, list, read)
}

func (t *table) readAll(key, name, what, example string, list []any, read func(t *table)) {
	for i, v := range list {
		values, ok := v.(map[string]any)
		if !ok {
			t.refuse(element(key, i), fmt.Errorf("this is no %s, want for instance %s", what, example))
			return
		}
		t.adopt(t.read(element(key, i), name, values, read))
	}
}

func (t *table) read(key, name string, values map[string]any, read func(t *table)) error {
	inner := &table{doc: t.doc, path: below(t.path, key), name: name, values: values}
	read(inner)
	return inner.end()
}

// label is a path without the numbers of elements.
func label(path string) string {
	var plain strings.Builder
	for path != "" {
		head, rest, ok := strings.Cut(path, "[")
		plain.WriteString(head)
		if ok {
			_, rest, _ = strings.Cut(rest, "]")
		}
		path = rest
	}
	return plain.String()
}
