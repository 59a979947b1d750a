package loop

import (
	"slices"
	"sort"
	"strings"
)

// A condition is a loop with the currents that its devices draw now and at most, in mA.
type condition struct {
	Loop
	now, worst []float64
}

// clone is a copy that can be changed.
func (c *condition) clone() *condition {
	d := *c
	d.Series = slices.Clone(c.Series)
	d.Cables = slices.Clone(c.Cables)
	d.Devices = slices.Clone(c.Devices)
	d.now = slices.Clone(c.now)
	d.worst = slices.Clone(c.worst)
	return &d
}

// A way is one thing about a loop that can be changed, in steps: the first one hardly
// changes it, the last one as much as makes sense.
type way struct {
	steps int
	take  func(c *condition, step int) (said string) // changes it; what that is in words
}

// mostWays is how many ways to mend a broken limit are named.
const mostWays = 4

// together is said where nothing that can be changed alone is enough.
const together = "no single change is enough, several together may be"

// mend names the first ways that make a limit hold, each with the smallest step that is
// enough. Nothing is named that was not tried.
func (c *condition) mend(holds func(c *condition) bool, ways ...way) string {
	var named []string
	for _, w := range ways {
		if changed, said := c.try(w, holds); changed != nil {
			named = append(named, said)
		}
		if len(named) == mostWays {
			break
		}
	}
	if len(named) == 0 {
		return together
	}
	return strings.Join(named, "; or ")
}

// try changes a copy by the smallest step of a way with which the limit holds; it is nil
// where none is enough. A bigger step is taken to be at least as good.
func (c *condition) try(w way, holds func(c *condition) bool) (changed *condition, said string) {
	at := func(step int) bool {
		changed = c.clone()
		said = w.take(changed, step)
		return holds(changed)
	}
	step := 1 + sort.Search(w.steps, func(i int) bool { return at(i + 1) })
	if step > w.steps || !at(step) {
		return nil, ""
	}
	return changed, said
}
