package linefile

import "slices"

// A plan is what is described, after some actions.
type plan struct {
	on      *ground
	wiring  wiring
	devices []entry
	order   []string // their tags, in the order in which they hang along the wires
	faults  []string // names of those that are there
}

func (p *plan) clone() *plan {
	return &plan{p.on, p.wiring, slices.Clone(p.devices), slices.Clone(p.order), slices.Clone(p.faults)}
}

// place is the index of the device with a tag that is there.
func (p *plan) place(tag string) int {
	return slices.IndexFunc(p.devices, func(e entry) bool { return e.Tag == tag })
}

// electric reports whether anything was said of the electricity.
func (p *plan) electric() bool {
	return p.wiring.electric() || slices.ContainsFunc(p.devices, func(e entry) bool { return e.hookup.given })
}

// foresee refuses what will be wrong when x is done, as far as the plan shows it,
// and goes on as it will be then.
func (p *plan) foresee(x *Action) error {
	if x.verb.foresee == nil {
		return nil
	}
	return x.verb.foresee(p, x)
}
