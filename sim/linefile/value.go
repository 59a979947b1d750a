package linefile

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"
)

// text reads a string.
func (t *table) text(key string) (s string, ok bool) {
	v, ok := t.ask(key)
	if !ok {
		return "", false
	}
	if s, ok = v.(string); !ok {
		t.refuseValue(key, "a string")
	}
	return s, ok
}

// day reads a date, with quotes or without.
func (t *table) day(key string) (s string, ok bool) {
	if d, is := t.values[key].(toml.LocalDate); is {
		t.ask(key)
		return d.String(), true
	}
	return t.text(key)
}

// choice reads a string that is one of a few.
func (t *table) choice(key string, of ...string) (s string, ok bool) {
	if s, ok = t.text(key); !ok || slices.Contains(of, s) {
		return s, ok
	}
	err := fmt.Errorf("%s %q is unknown, want one of %s", key, s, strings.Join(of, ", "))
	if instead := near(s, of); instead != "" {
		err = fmt.Errorf("%s %q is unknown: did you mean %q?", key, s, instead)
	}
	t.refuse(key, err)
	return "", false
}

// truth reads true or false.
func (t *table) truth(key string) bool {
	v, ok := t.ask(key)
	if !ok {
		return false
	}
	b, ok := v.(bool)
	if !ok {
		t.refuseValue(key, "true or false")
	}
	return b
}

// whole reads a whole number.
func (t *table) whole(key string, least, most, otherwise int64) int64 {
	v, ok := t.ask(key)
	if !ok {
		return otherwise
	}
	n, ok := v.(int64)
	if !ok || n < least || n > most {
		t.refuseValue(key, "a whole number from %d to %d", least, most)
		return otherwise
	}
	return n
}

// number reads a number.
func (t *table) number(key string, otherwise float64) float64 {
	v, ok := t.ask(key)
	if !ok {
		return otherwise
	}
	x, ok := numberOf(v)
	if !ok {
		t.refuseValue(key, "a number")
		return otherwise
	}
	return x
}

func numberOf(v any) (x float64, ok bool) {
	switch n := v.(type) {
	case int64:
		return float64(n), true
	case float64:
		return n, !math.IsNaN(n) && !math.IsInf(n, 0)
	}
	return 0, false
}

// within reads a number that has limits.
func (t *table) within(key string, least, most, otherwise float64) float64 {
	x := t.number(key, otherwise)
	if x < least || x > most {
		t.refuseValue(key, "%g to %g", least, most)
		return otherwise
	}
	return x
}

// aboveZero reads a number that is more than 0, and at most as said.
func (t *table) aboveZero(key string, most, otherwise float64) float64 {
	x := t.number(key, otherwise)
	if x <= 0 || x > most {
		t.refuseValue(key, "more than 0 and at most %g", most)
		return otherwise
	}
	return x
}

// longest is the longest time that a description may hold.
const longest = 1e9 // s, some 30 years

// seconds reads a number of seconds.
func (t *table) seconds(key string) time.Duration {
	return time.Duration(math.Round(t.within(key, -longest, longest, 0) * 1e9))
}

// pair reads an array of two numbers above 0.
func (t *table) pair(key string, first, second float64) (a, b float64) {
	v, ok := t.ask(key)
	if !ok {
		return first, second
	}
	if list, ok := v.([]any); ok && len(list) == 2 {
		a, _ = numberOf(list[0])
		b, _ = numberOf(list[1])
	}
	if a <= 0 || b <= 0 {
		t.refuseValue(key, "two numbers above 0, for instance [%g, %g]", first, second)
	}
	return a, b
}
