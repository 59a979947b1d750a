package view

import (
	"slices"
	"strings"
)

// An Answer is what limits come to: is it in order?
type Answer struct {
	broken []string
	kept   bool
}

// Broken takes a limit that is broken, maybe once more.
func (a *Answer) Broken(name string) {
	if !slices.Contains(a.broken, name) {
		a.broken = append(a.broken, name)
	}
}

// Kept takes one that is kept.
func (a *Answer) Kept() { a.kept = true }

// String is one sentence.
func (a *Answer) String() string {
	switch {
	case len(a.broken) > 0:
		return "Not in order: " + strings.Join(a.broken, ", ") + "."
	case a.kept:
		return "Everything that could be measured is in order."
	}
	return "Nothing could be measured."
}
