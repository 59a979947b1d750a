package userfile

import "maps"

// Prune is the table as it would be without a key, and not read yet.
func (t *Table) Prune(key string) *Table {
	values := maps.Clone(t.values)
	delete(values, key)
	return &Table{Name: t.Name, doc: t.doc, path: t.path, within: t.within, values: values}
}

// At is what stands at a path in the table, such as range.upper or burst[0].every; ok
// is false where nothing does.
func (t *Table) At(path string) (v any, ok bool) {
	steps, err := stepsOf(path)
	if err != nil {
		return nil, false
	}
	v = t.values
	for _, s := range steps {
		if v, ok = s.of(v); !ok {
			return nil, false
		}
	}
	return v, true
}

// of is the value that the step leads to.
func (s *step) of(v any) (below any, ok bool) {
	if s.index < 0 {
		table, _ := v.(map[string]any)
		below, ok = table[s.key]
		return below, ok
	}
	list, _ := v.([]any)
	if s.index >= len(list) {
		return nil, false
	}
	return list[s.index], true
}
