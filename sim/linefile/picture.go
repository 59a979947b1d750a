package linefile

import (
	"slices"

	"looptone/sim/loop"
)

// Loop is the electricity of the line as it is described and was set since; known is
// false where nothing was said of it, and it does not act.
func (a *Assembly) Loop() (l *loop.Loop, known bool) {
	l, _ = a.plan.wires() // nothing else gets into a plan
	return l, a.electricity != nil
}

// Order are the tags of the devices in the order in which they hang along the wires.
func (a *Assembly) Order() []string { return slices.Clone(a.plan.order) }

// Kind is what device i is for, as a description names it.
func (a *Assembly) Kind(i int) string {
	if name, _ := a.plan.devices[i].table.Value("kind").(string); name != oldGauge {
		return name
	}
	return gauge
}

// Dark says why device i is off the wires; empty where it is not.
func (a *Assembly) Dark(i int) string {
	if a.Faults.Off(a.plan.devices[i].Tag) {
		return "a fault keeps it off the wires"
	}
	if a.electricity == nil {
		return ""
	}
	switch a.electricity.dark[i] {
	case loop.TooLow:
		return "too little voltage is left for it"
	case loop.Backwards:
		return "its leads are swapped"
	}
	return ""
}
