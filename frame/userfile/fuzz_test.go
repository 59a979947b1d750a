package userfile_test

import (
	"errors"
	"strings"
	"testing"

	"looptone/frame/userfile"
)

// hasPlace wants an error with a place in the text.
func hasPlace(t *testing.T, text string, err error) {
	t.Helper()
	var e *userfile.Error
	lines := strings.Split(text, "\n")
	if !errors.As(err, &e) || e.Line < 1 || e.Line > len(lines) || e.Column < 1 || e.Column > len(lines[e.Line-1])+1 {
		t.Fatalf("%q: got error %v, want one with a place in the text", text, err)
	}
}

// Whatever is refused has a place in the text.
func FuzzParse(f *testing.F) {
	f.Add([]byte(good))
	f.Add([]byte("unit = [[[{a.b = [1, {c = 2}]}]], 3]\n[site.\"a.b\"]\n"))
	f.Add([]byte("site.\"\" = 1\n\"\" = 2\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		if _, err := read(string(text)); err != nil {
			hasPlace(t, string(text), err)
		}
	})
}

func FuzzParseJSON(f *testing.F) {
	f.Add(goodJSON)
	f.Add("\ufeff{\"site\": {\"\": [1, {\"a.b\": null}]},\n\"unit\": 1e9}")
	f.Add(`{"site": {"name": "\ud800"}, "unit": [[]]} x`)
	f.Fuzz(func(t *testing.T, text string) {
		if _, err := readJSON(text); err != nil {
			hasPlace(t, text, err)
		}
	})
}
