package near

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestName(t *testing.T) {
	keys := []string{"polling", "poll", "kind", "unit", "lower"}
	for _, c := range []struct {
		word, want string
		names      []string
	}{
		{"poling", "polling", keys},
		{"pol", "poll", keys},
		{"UNIT", "unit", keys},
		{"nuit", "", keys}, // two wrong letters of four
		{"lowwer", "lower", keys},
		{"colour", "", keys},
		{"", "", keys},
		{"kind", "", nil},
		{"kpa", "kPa", []string{"Pa", "MPa", "kPa"}}, // by its case, though Pa is near too
		{"x", "", []string{"K", "m"}},                // that would change every letter
		{"m3/h", "m³/h", []string{"m³/d", "m³/h"}},
		{"bar", "bar", []string{"mbar", "bar"}},
		{"tat", "tag", []string{"tag", "tan"}}, // the first of two
	} {
		if got := Name(c.word, c.names); got != c.want {
			t.Errorf("%q among %q: got %q, want %q", c.word, c.names, got, c.want)
		}
	}
}

// Source: from memory (kitten and sitting are the usual example of the distance of
// Levenshtein; the others are small enough to count).
func TestMistakes(t *testing.T) {
	for _, c := range []struct {
		from, to string
		want     int
	}{
		{"kitten", "sitting", 3}, {"saturday", "sunday", 3}, {"", "abc", 3}, {"a", "", 1}, {"é", "e", 1}, {"same", "same", 0},
	} {
		if got := mistakes(c.from, c.to); got != c.want {
			t.Errorf("%q to %q: got %d, want %d", c.from, c.to, got, c.want)
		}
	}
}

// plainly is the definition of the distance, without a table.
func plainly(a, b []rune) int {
	switch {
	case len(a) == 0 || len(b) == 0:
		return len(a) + len(b)
	case a[0] == b[0]:
		return plainly(a[1:], b[1:])
	}
	return 1 + min(plainly(a[1:], b), plainly(a, b[1:]), plainly(a[1:], b[1:]))
}

func TestMistakesAsDefined(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringOfN(rapid.RuneFrom([]rune("abé")), 0, 6, -1)
		from, to := word.Draw(t, "from"), word.Draw(t, "to")
		a, b := []rune(from), []rune(to)
		if len(a) > 2*len(b)+2 {
			return // so unlike that Name does not compare them
		}
		if got, want := mistakes(from, to), plainly(a, b); got != want {
			t.Errorf("%q to %q: got %d, want %d", from, to, got, want)
		}
	})
}

// A word that is a megabyte long costs no time.
func TestLongWord(t *testing.T) {
	if got := Name(strings.Repeat("a", 1<<20), []string{"aaa", "unit"}); got != "" {
		t.Errorf("got %q, want none", got)
	}
}
