package loop

import (
	"fmt"
	"slices"
)

// judgeCable holds the length of the cable against every rule that binds.
func (c *condition) judgeCable(b *Budget) []Verdict {
	all := c.cable(b.Rules)
	for i := range all {
		if all[i].Finding == Broken {
			all[i].Mend = c.mend((*condition).cableHolds, c.smallerResistor(), c.shorterCable(), c.lighterCable(), c.thickerCable(), c.smallerBarrier())
		}
	}
	return all
}

// cable is the verdicts by the rules that bind; where none does, as without cable, what
// R and C come to.
func (c *condition) cable(rules []Rule) (all []Verdict) {
	for i := range rules {
		if r := &rules[i]; r.Binding {
			all = append(all, c.length(r))
		}
	}
	if all == nil {
		all = append(all, c.timeConstant())
	}
	return all
}

// cableHolds reports whether no rule that binds is broken.
func (c *condition) cableHolds() bool {
	return !slices.ContainsFunc(c.cable(c.Rules()), func(v Verdict) bool { return v.Finding == Broken })
}

// length is the verdict on the length of the cable.
func (c *condition) length(r *Rule) Verdict {
	v := Verdict{Limit: "cable", Got: c.LengthM(), Want: r.MostM, Unit: "m"}
	v.Finding = broken(v.Got > v.Want+rounding)
	g, w := against(v.Got, float64(int(r.MostM)), 0)
	v.Says = fmt.Sprintf("%s m of cable, %s allows %s m", g, r.Name, w)
	if r.MostM < 1 {
		v.Says = fmt.Sprintf("%s m of cable, %s allows none", g, r.Name)
	}
	return v
}

// timeConstant is the verdict on R·C where the cable is no matter.
func (c *condition) timeConstant() Verdict {
	v := Verdict{Limit: "cable", Got: c.TimeConstant(), Want: mostTimeConstant, Unit: "µs"}
	v.Finding = broken(v.Got > v.Want+rounding)
	g, w := against(v.Got, v.Want, 0)
	v.Says = fmt.Sprintf("R·C is %s µs, %s µs are allowed", g, w)
	return v
}
