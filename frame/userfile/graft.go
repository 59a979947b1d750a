package userfile

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// Graft is the table as it would be with v at a path in it, and not read yet.
// Tables on the way that are not there are made.
//
// It is in the text of another table, from, that the value and the path are given:
// under the keys value and where. What is wrong with it is placed there, and so is
// all else: only because of the new value can it be wrong.
func (t *Table) Graft(path string, v any, from *Table, where, value string) (*Table, error) {
	steps, err := stepsOf(path)
	if err != nil {
		return nil, err
	}
	grafted, err := graft(t.values, steps, v)
	if err != nil {
		return nil, err
	}
	doc := &document{file: from.doc.file, before: from.doc.before, text: from.doc.text, notation: from.doc.notation, places: map[string]place{}}
	at := from.place(value).value
	doc.elsewhere = &place{from.place(where).value, at}
	own, given := Below(t.path, path), Below(from.path, value)
	for p, at := range from.doc.places {
		if rest, ok := strings.CutPrefix(p, given); ok && (strings.HasPrefix(rest, ".") || strings.HasPrefix(rest, "[")) {
			doc.places[own+rest] = at
		}
	}
	doc.places[own] = place{doc.elsewhere.key, at}
	return &Table{Name: t.Name, doc: doc, path: t.path, within: t.within, values: grafted.(map[string]any)}, nil
}

// A step leads from a table to the value of a key, or from an array to an element.
type step struct {
	path  string // up to and with it
	key   string
	index int // -1 for a key
}

func stepsOf(path string) (steps []step, err error) {
	at := ""
	for part := range strings.SplitSeq(path, ".") {
		key, rest, indexed := strings.Cut(part, "[")
		if key == "" {
			return nil, fmt.Errorf("path %q has a name that is empty, want for instance range.upper", path)
		}
		at = Below(at, key)
		steps = append(steps, step{at, key, -1})
		for indexed {
			number, behind, closed := strings.Cut(rest, "]")
			rest, indexed = strings.CutPrefix(behind, "[")
			i, err := strconv.ParseUint(number, 10, 16)
			if err != nil || !closed || !indexed && rest != "" {
				return nil, fmt.Errorf("path %q has no number in brackets, want for instance burst[0].every", path)
			}
			at = Element(at, int(i))
			steps = append(steps, step{at, "", int(i)})
		}
	}
	return steps, nil
}

// graft is a copy of in, with v where the steps lead.
func graft(in any, steps []step, v any) (any, error) {
	if len(steps) == 0 {
		return v, nil
	}
	s := steps[0]
	if s.index < 0 {
		return graftKey(in, s, steps[1:], v)
	}
	list, _ := in.([]any)
	if s.index >= len(list) {
		return nil, s.missing(len(list))
	}
	inner, err := graft(list[s.index], steps[1:], v)
	if err != nil {
		return nil, err
	}
	list = slices.Clone(list)
	list[s.index] = inner
	return list, nil
}

// missing refuses the step to an element of a list that is shorter.
func (s *step) missing(length int) error {
	list := s.path[:strings.LastIndexByte(s.path, '[')]
	switch length {
	case 0:
		return fmt.Errorf("%s is not there, want the whole of %s: it has no elements", s.path, list)
	case 1:
		return fmt.Errorf("%s is not there, want %s", s.path, Element(list, 0))
	}
	return fmt.Errorf("%s is not there, want %s to %s", s.path, Element(list, 0), Element(list, length-1))
}

func graftKey(in any, s step, rest []step, v any) (any, error) {
	values, ok := in.(map[string]any)
	if !ok && in != nil {
		return nil, fmt.Errorf("%s is not there, what is before it is no table", s.path)
	}
	inner, err := graft(values[s.key], rest, v)
	if err != nil {
		return nil, err
	}
	if values = maps.Clone(values); values == nil {
		values = map[string]any{}
	}
	values[s.key] = inner
	return values, nil
}
