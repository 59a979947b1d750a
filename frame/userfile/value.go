package userfile

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"looptone/frame/near"
)

// Keys are the keys that are there, in the order of the file.
func (t *Table) Keys() []string {
	return slices.SortedFunc(maps.Keys(t.values), func(a, b string) int {
		return cmp.Or(cmp.Compare(t.place(a).key.from, t.place(b).key.from), cmp.Compare(a, b))
	})
}

// Has reports whether a key is there. It does not ask for it.
func (t *Table) Has(key string) bool {
	_, ok := t.values[key]
	return ok
}

// Value is the value of a key as the TOML decoder gives it: a string, an int64, a
// float64, a bool, a []any, a map[string]any, a time or a date; nil where it is
// not there, or is a null of JSON. It does not ask for the key.
func (t *Table) Value(key string) any { return t.values[key] }

// Ask gives the value of a key, which is known from now on.
func (t *Table) Ask(key string) (v any, ok bool) {
	if !slices.Contains(t.known, key) {
		t.known = append(t.known, key)
	}
	v, ok = t.values[key]
	return v, ok
}

// Text reads a string; ok is false where there is none, or was refused.
func (t *Table) Text(key string) (s string, ok bool) {
	v, ok := t.Ask(key)
	if !ok {
		return "", false
	}
	if s, ok = v.(string); ok {
		return s, true
	}
	if t.doc.notation.bare { // a text that looks like a number
		return t.got(key), true
	}
	t.RefuseValue(key, "a string")
	return "", false
}

// Choice reads a string that is one of a few; ok is false where there is none, or
// was refused.
func (t *Table) Choice(key string, of ...string) (s string, ok bool) {
	if s, ok = t.Text(key); !ok || slices.Contains(of, s) {
		return s, ok
	}
	err := fmt.Errorf("%s %q is unknown, want one of %s", key, s, strings.Join(of, ", "))
	if instead := near.Name(s, of); instead != "" {
		err = fmt.Errorf("%s %q is unknown: did you mean %q?", key, s, instead)
	}
	t.Refuse(key, err)
	return "", false
}

// Day reads a date, with quotes or without; s is what the quotes hold, else
// yyyy-mm-dd.
func (t *Table) Day(key string) (s string, ok bool) {
	if d, is := t.values[key].(toml.LocalDate); is {
		t.Ask(key)
		return d.String(), true
	}
	return t.Text(key)
}

// Truth reads true or false.
func (t *Table) Truth(key string, otherwise bool) bool {
	v, ok := t.Ask(key)
	if !ok {
		return otherwise
	}
	b, ok := v.(bool)
	if !ok {
		t.RefuseValue(key, "true or false")
	}
	return b
}

// Whole reads a whole number from least to most.
func (t *Table) Whole(key string, least, most, otherwise int64) int64 {
	v, ok := t.Ask(key)
	if !ok {
		return otherwise
	}
	n, ok := v.(int64)
	if !ok || n < least || n > most {
		t.RefuseValue(key, "a whole number from %d to %d", least, most)
		return otherwise
	}
	return n
}

// Number reads a number that is finite.
func (t *Table) Number(key string, otherwise float64) float64 {
	v, ok := t.Ask(key)
	if !ok {
		return otherwise
	}
	x, ok := NumberOf(v)
	if !ok {
		t.RefuseValue(key, "a number")
		return otherwise
	}
	return x
}

// NumberOf is a value as a number; ok is false where it is none, or is not finite.
func NumberOf(v any) (x float64, ok bool) {
	switch n := v.(type) {
	case int64:
		return float64(n), true
	case float64:
		return n, !math.IsNaN(n) && !math.IsInf(n, 0)
	}
	return 0, false
}

// Within reads a number that has limits.
func (t *Table) Within(key string, least, most, otherwise float64) float64 {
	x := t.Number(key, otherwise)
	if x < least || x > most {
		t.RefuseValue(key, "%g to %g", least, most)
		return otherwise
	}
	return x
}

// AboveZero reads a number that is more than 0, and at most as said.
func (t *Table) AboveZero(key string, most, otherwise float64) float64 {
	x := t.Number(key, otherwise)
	if x <= 0 || x > most {
		t.RefuseValue(key, "more than 0 and at most %g", most)
		return otherwise
	}
	return x
}
