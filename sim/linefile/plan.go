package linefile

import "slices"

// A plan is what is described, after some actions.
type plan struct {
	on      *ground
	devices []entry
	faults  []string // names of those that are there
}

func (p *plan) clone() *plan {
	return &plan{p.on, slices.Clone(p.devices), slices.Clone(p.faults)}
}

// place is the index of the device with a tag that is there.
func (p *plan) place(tag string) int {
	return slices.IndexFunc(p.devices, func(e entry) bool { return e.Tag == tag })
}

// foresee refuses what will be wrong when x is done, as far as the plan shows it,
// and goes on as it will be then.
func (p *plan) foresee(x *Action) error {
	if x.verb.foresee == nil {
		return nil
	}
	return x.verb.foresee(p, x)
}
