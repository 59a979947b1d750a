package loop

import (
	"fmt"
	"math"
)

// fed reports whether every device that is the right way round has its lift-off voltage,
// now and at the worst currents; one whose lift-off voltage is not known, any at all.
func (c *condition) fed() bool {
	for _, wantMA := range [][]float64{c.now, c.worst} {
		s := c.Solve(wantMA)
		for i := range s.Devices {
			if !c.Devices[i].Reversed && s.Devices[i].V < c.Devices[i].LiftOffV-rounding {
				return false
			}
		}
	}
	return true
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
	return c.mend((*condition).fed, append(ways, c.fewerInstruments()...)...)
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
	volts := func(volts float64) string {
		if volts < -rounding {
			return "no voltage"
		}
		text, _ := against(volts, liftOffV, 1)
		return text + " V"
	}
	has, wants := "has %s across it", "it wants "+volts(liftOffV)
	if now.Dark == TooLow {
		has = "is dark: %s left for it"
	}
	if liftOffV == 0 {
		wants = "its lift-off voltage is not known"
	}
	worst := volts(worstV)
	turns := now.Dark == Lit && v.Finding == Broken // from enough to too little
	switch {
	case max(now.WasV, worstV) < 0, math.Abs(now.WasV-worstV) < 0.05 && !turns:
		return fmt.Sprintf(has, volts(v.Got)) + ", " + wants
	case worstV < 0:
		worst = ", but none"
	case turns:
		worst = ", but only " + worst
	default:
		worst = ", and " + worst
	}
	return fmt.Sprintf(has, volts(now.WasV)) + worst + " if all drew their most, " + milliamperes(b.Worst.SumMA) + " together; " + wants
}
