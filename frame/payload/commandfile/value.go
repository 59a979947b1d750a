package commandfile

import (
	"fmt"
	"strings"
	"unicode"
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

// words reads a string that is shown to people: some printable characters.
func (t *table) words(key string) string {
	s, ok := t.text(key)
	bad := strings.IndexFunc(s, func(r rune) bool { return !unicode.IsPrint(r) })
	switch {
	case !ok:
		return ""
	case strings.TrimSpace(s) == "":
		t.refuse(key, fmt.Errorf("%s is empty, want some words", key))
	case bad >= 0:
		t.refuse(key, fmt.Errorf("%s has the character %q, want printable ones", key, []rune(s[bad:])[0]))
	case strings.TrimSpace(s) != s:
		t.refuse(key, fmt.Errorf("%s %q begins or ends with a blank, want %q", key, s, strings.TrimSpace(s)))
	}
	return s
}

// truth reads true or false.
func (t *table) truth(key string, otherwise bool) bool {
	v, ok := t.ask(key)
	if !ok {
		return otherwise
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
