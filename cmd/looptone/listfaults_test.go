package main

import (
	"strings"
	"testing"
	"unicode/utf8"

	"looptone/cmd/looptone/view"
	"looptone/sim/fault"
)

// Every kind of fault is in the list with all that it takes, in lines that fit a
// terminal which is not wide.
func TestListOfFaults(t *testing.T) {
	list := faultList(fault.Kinds())
	for _, line := range strings.Split(list, "\n") {
		if n := utf8.RuneCountInString(line); n > view.Width || strings.HasSuffix(line, " ") {
			t.Errorf("%d characters: %q", n, line)
		}
	}
	words := strings.Join(strings.Fields(list), " ")
	for _, k := range fault.Kinds() {
		if !strings.Contains(list, "\n\n"+k.Name+"\n  ") {
			t.Errorf("%q is not in the list", k.Name)
		}
		for _, text := range []string{k.What, k.Other, k.Crosses} {
			if !strings.Contains(words, text) {
				t.Errorf("%q is not in the list", text)
			}
		}
		for _, s := range k.Settings {
			if !strings.Contains(words, s.Name+", ") || !strings.Contains(words, s.What) {
				t.Errorf("%s of %s is not in the list", s.Name, k.Name)
			}
		}
	}
}
