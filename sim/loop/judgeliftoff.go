package loop

import (
	"fmt"
	"math"
)

// short reports whether a device that is the right way round lacks voltage; of one
// whose lift-off voltage is not known, whether none is left.
func (c *condition) short() bool {
	for _, wantMA := range [][]float64{c.now, c.worst} {
		s := c.Solve(wantMA)
		for i := range s.Devices {
			if !c.Devices[i].Reversed && s.Devices[i].V < c.Devices[i].LiftOffV-rounding {
				return true
			}
		}
	}
	return false
}

// judgeLiftOff looks at every device that is the right way round, now and at the worst
// currents.
func (c *condition) judgeLiftOff(b *Budget) (all []Verdict) {
	for i := range c.Devices {
		if !c.Devices[i].Reversed {
			all = append(all, b.liftOff(i))
		}
	}
	var mend string
	for i := range all {
		if all[i].Finding != Broken {
			continue
		}
		if mend == "" {
			mend = c.mendLiftOff()
		}
		all[i].Mend = mend
	}
	return all
}

func (c *condition) mendLiftOff() string {
	ways := []way{c.higherSupply(), c.fewerDevices(), c.parkedDevices(), c.smallerResistor(), c.thickerCable(), c.shorterCable(), c.smallerBarrier()}
	return c.mend(func(c *condition) bool { return !c.short() }, append(ways, c.fewerInstruments()...)...)
}

// liftOff is the verdict on one device. Its number is the lowest voltage: what it has
// now, had when it went dark, or would have at the worst currents.
func (b *Budget) liftOff(i int) Verdict {
	d := &b.Loop.Devices[i]
	v := Verdict{
		Limit:  "lift-off voltage",
		Device: d.Name,
		Got:    min(b.Now.Devices[i].WasV, b.Worst.Devices[i].V),
		Want:   d.LiftOffV,
		Unit:   "V",
	}
	v.Finding = broken(v.Got < d.LiftOffV-rounding)
	if d.LiftOffV == 0 {
		v.Want = math.NaN()
		if v.Finding == Holds {
			v.Finding = Unknown
		}
	}
	v.Says = d.Name + " " + b.liftOffWords(i, &v)
	return v
}

// liftOffWords is what a device has, would have if all drew their most, and wants.
func (b *Budget) liftOffWords(i int, v *Verdict) string {
	now, worstV, liftOffV := &b.Now.Devices[i], b.Worst.Devices[i].V, b.Loop.Devices[i].LiftOffV
	volts := func(v float64) string {
		text, _ := against(v, liftOffV, 1)
		return text + " V"
	}
	wants := "it wants " + volts(liftOffV)
	if liftOffV == 0 {
		wants = "its lift-off voltage is not known"
	}
	most := "if all drew their most, " + milliamperes(b.Worst.SumMA) + " together"
	switch {
	case v.Got < 0:
		return fmt.Sprintf("would have no voltage left %s; %s", most, wants)
	case now.Dark == TooLow && now.WasV <= worstV:
		return fmt.Sprintf("is dark: %s across it, %s", volts(now.WasV), wants)
	case now.Dark == TooLow:
		return fmt.Sprintf("is dark: %s across it, and %s %s; %s", volts(now.WasV), volts(worstV), most, wants)
	case v.Finding == Broken:
		return fmt.Sprintf("has %s across it, but only %s %s; %s", volts(now.V), volts(worstV), most, wants)
	case math.Abs(now.V-worstV) < 0.05:
		return fmt.Sprintf("has %s across it, %s", volts(v.Got), wants)
	}
	return fmt.Sprintf("has %s across it, and %s %s; %s", volts(now.V), volts(worstV), most, wants)
}
