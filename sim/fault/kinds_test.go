package fault

import (
	"slices"
	"strings"
	"testing"
)

// Every kind says what somebody needs who lists it, and does something.
func TestKindsAreComplete(t *testing.T) {
	seen := map[string]bool{}
	for i, k := range Kinds() {
		if k.Name == "" || seen[k.Name] || strings.ToLower(k.Name) != k.Name {
			t.Errorf("kind %d is called %q, want a name of its own in lower case", i, k.Name)
		}
		seen[k.Name] = true
		for what, text := range map[string]string{"What": k.What, "Crosses": k.Crosses} {
			if !strings.HasSuffix(text, ".") || strings.Count(text, ". ") > 0 || strings.ToUpper(text[:1]) != text[:1] {
				t.Errorf("%s: %s is %q, want one sentence", k.Name, what, text)
			}
		}
		if !slices.Contains([]string{"device", "talker", "line"}, k.Strikes) {
			t.Errorf("%s strikes %q", k.Name, k.Strikes)
		}
		if (k.Other == "") != (k.OtherKey == "") {
			t.Errorf("%s: other is %q with the key %q", k.Name, k.Other, k.OtherKey)
		}
		for _, s := range k.Settings {
			if err := s.check(s.Usual); err != nil {
				t.Errorf("%s: what is usual is refused: %v", k.Name, err)
			}
			if s.Name == "" || s.What == "" || s.Least >= s.Most {
				t.Errorf("%s: setting %+v is not complete", k.Name, s)
			}
		}
		checkEffects(t, &kinds[i])
	}
}

// checkEffects wants exactly one way in which a kind acts, but for restarts, which
// come by chance or at their times.
func checkEffects(t *testing.T, k *kind) {
	t.Helper()
	ways := 0
	for _, way := range []bool{k.message != nil, k.trouble != nil, k.tune != nil, k.begin != nil} {
		if way {
			ways++
		}
	}
	if ways != 1 && k.Name != "restart" || (k.begin == nil) != (k.end == nil) {
		t.Errorf("%s acts in %d ways, want one", k.Name, ways)
	}
	if k.Lasts != (k.tune != nil || k.begin != nil && k.Settings == nil || k.Name == "second primary master") {
		t.Errorf("%s: lasts is %t", k.Name, k.Lasts)
	}
}

func TestKindsAreCopies(t *testing.T) {
	Kinds()[0].Settings[0].Most = 17
	if Kinds()[0].Settings[0].Most == 17 {
		t.Error("a caller can change the table")
	}
}
