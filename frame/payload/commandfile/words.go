package commandfile

import (
	"fmt"
	"strings"
	"unicode"

	"looptone/frame/userfile"
)

// words reads a string that is shown to people: some printable characters.
func words(t *userfile.Table, key string) string {
	s, ok := t.Text(key)
	bad := strings.IndexFunc(s, func(r rune) bool { return !unicode.IsPrint(r) })
	switch {
	case !ok:
		return ""
	case strings.TrimSpace(s) == "":
		t.Refuse(key, fmt.Errorf("%s is empty, want some words", key))
	case bad >= 0:
		t.Refuse(key, fmt.Errorf("%s has the character %q, want printable ones", key, []rune(s[bad:])[0]))
	case strings.TrimSpace(s) != s:
		t.Refuse(key, fmt.Errorf("%s %q begins or ends with a blank, want %q", key, s, strings.TrimSpace(s)))
	}
	return s
}
