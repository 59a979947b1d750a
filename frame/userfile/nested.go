package userfile

import (
	"fmt"
	"strings"
)

// Sub reads the table under key, if it is there.
func (t *Table) Sub(key string, read func(t *Table)) {
	v, ok := t.Ask(key)
	if !ok {
		return
	}
	values, ok := v.(map[string]any)
	if !ok {
		t.RefuseValue(key, "%s", t.doc.notation.table)
		return
	}
	inner := t.inner(key, fmt.Sprintf(t.doc.notation.header, label(Below(t.path, key))), values)
	inner.within = Below(t.within, key)
	t.read(inner, read)
}

// Each reads the tables under [[key]], in the order of the file.
func (t *Table) Each(key string, read func(t *Table)) {
	v, ok := t.Ask(key)
	if !ok {
		return
	}
	header := label(Below(t.path, key))
	tables := fmt.Sprintf(t.doc.notation.tables, header)
	list, ok := v.([]any)
	if _, single := v.(map[string]any); single && t.doc.notation == inTOML {
		t.Refuse(key, fmt.Errorf("[%s] stands in single brackets, want [[%s]]: there may be several", header, header))
	} else if !ok {
		t.RefuseValue(key, "%s", tables)
	}
	t.readAll(key, fmt.Sprintf(t.doc.notation.headers, header), list, read,
		fmt.Errorf("this is no %s, want %s", strings.Fields(t.doc.notation.table)[1], tables))
}

// List reads an array of inline tables; name is one of them in words, and example
// one in TOML.
func (t *Table) List(key, name, example string, read func(t *Table)) {
	v, ok := t.Ask(key)
	if !ok {
		return
	}
	list, ok := v.([]any)
	if !ok {
		t.RefuseValue(key, "a list, for instance %s", t.doc.notation.given(key, "[ "+example+" ]"))
	}
	t.readAll(key, "the "+name, list, read, fmt.Errorf("this is no %s, want for instance %s", name, t.doc.notation.example(example)))
}

// readAll reads the tables of a list, which messages call name; noTable refuses an
// element that is none.
func (t *Table) readAll(key, name string, list []any, read func(t *Table), noTable error) {
	for i, v := range list {
		values, ok := v.(map[string]any)
		if !ok {
			t.Refuse(Element(key, i), noTable)
			return
		}
		t.read(t.inner(Element(key, i), name, values), read)
	}
}

// inner is the table at a path, which messages call name.
func (t *Table) inner(path, name string, values map[string]any) *Table {
	return &Table{Name: name, doc: t.doc, path: Below(t.path, path), values: values}
}

func (t *Table) read(inner *Table, read func(t *Table)) {
	read(inner)
	t.Adopt(inner.End())
}

// label is a path without the numbers of elements.
func label(path string) string {
	var plain strings.Builder
	for path != "" {
		head, rest, _ := strings.Cut(path, "[")
		plain.WriteString(head)
		_, path, _ = strings.Cut(rest, "]")
	}
	return plain.String()
}
