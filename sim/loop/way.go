package loop

import (
	"fmt"
	"math"
	"slices"
)

// How far it makes sense to go.
const (
	highestV       = 42.0 // of the supply. Source: from memory (what transmitters usually bear)
	thickestCable  = 10   // AWG. Source: common practice
	leastNFPerKM   = 70   // Source: Emerson DVC6000 SIS manual, p.2-30 (table of cables)
	strongestTones = 0.6  // volts across 250 ohm. Source: from memory
)

// slack is a small number in steps of a number, against sums that are not exact.
const slack = 1e-6

// higherSupply raises the supply by tenths of a volt.
func (c *condition) higherSupply() way {
	from := math.Floor(c.Supply.V*10 + slack)
	return way{int(highestV*10 - from), func(c *condition, step int) string {
		c.Supply.V = (from + float64(step)) / 10
		said := "a supply of at least " + figure(c.Supply.V, 1) + " V"
		if c.BarrierOhm > 0 {
			said += ", if the barrier allows it"
		}
		return said
	}}
}

// smallerResistor takes it down by ohms, to the least that a host must have.
func (c *condition) smallerResistor() way {
	from := math.Ceil(c.ResistorOhm - slack)
	return way{int(from - LowestOhm), func(c *condition, step int) string {
		c.ResistorOhm = from - float64(step)
		return fmt.Sprintf("a resistor of at most %.0f ohm", c.ResistorOhm)
	}}
}

// usualResistor is for loops that have less. What it takes away from the devices the
// supply must give.
func (c *condition) usualResistor() way {
	if c.ResistorOhm >= UsualResistorOhm {
		return way{}
	}
	return way{1, func(c *condition, _ int) string {
		c.ResistorOhm = UsualResistorOhm
		return fmt.Sprintf("a resistor of %.0f ohm", UsualResistorOhm) + c.feed()
	}}
}

// feed raises the supply to what the devices need, and says so, or that it cannot.
func (c *condition) feed() string {
	if c.fed() {
		return ""
	}
	fed, said := c.try(c.higherSupply(), (*condition).fed)
	if fed == nil {
		return " (but then even " + decimals(max(highestV, c.Supply.V)) + " V are not enough for all devices)"
	}
	*c = *fed
	return " with " + said
}

// smallerBarrier takes its resistance down by ohms.
func (c *condition) smallerBarrier() way {
	from := math.Ceil(c.BarrierOhm - slack)
	return way{int(from) - 1, func(c *condition, step int) string {
		c.BarrierOhm = from - float64(step)
		return fmt.Sprintf("a barrier of at most %.0f ohm", c.BarrierOhm)
	}}
}

// fewerInstruments leaves out one of those in series, each in a way of its own.
func (c *condition) fewerInstruments() (ways []way) {
	for i, in := range c.Series {
		ways = append(ways, way{1, func(c *condition, _ int) string {
			c.Series = slices.Delete(c.Series, i, i+1)
			return fmt.Sprintf("%s (%s ohm) taken out of the loop", in.Name, decimals(in.Ohm))
		}})
	}
	return ways
}

// shorterCable takes metres off all cables, in proportion.
func (c *condition) shorterCable() way {
	length := c.LengthM()
	from := math.Ceil(length - slack)
	return way{int(from) - 1, func(c *condition, step int) string {
		to := from - float64(step)
		for i := range c.Cables {
			c.Cables[i].LengthM *= to / length
		}
		return fmt.Sprintf("at most %.0f m of cable in all", to)
	}}
}

// thickerCable takes tenths of an ohm per kilometre off a cable that is of one make
// throughout, else per cents off the resistance of all.
func (c *condition) thickerCable() way {
	perKM, one := c.common(func(k *Cable) float64 { return k.OhmPerKM })
	if !one {
		return c.thickerCables()
	}
	from := math.Ceil(perKM*10 - slack)
	least, _ := OhmPerKM(thickestCable)
	return way{int(from - math.Ceil(least*10)), func(c *condition, step int) string {
		ohm := (from - float64(step)) / 10
		for i := range c.Cables {
			c.Cables[i].OhmPerKM = ohm
		}
		return "cable of at most " + figure(ohm, 1) + " ohm per km of one core" + gauge(ohm)
	}}
}

func (c *condition) thickerCables() way {
	return way{90, func(c *condition, step int) string {
		for i := range c.Cables {
			c.Cables[i].OhmPerKM *= float64(100-step) / 100
		}
		return fmt.Sprintf("thicker cables, with at most %d %% of the resistance", 100-step)
	}}
}

// gauge is the thinnest of the usual gauges with no more resistance.
func gauge(ohmPerKM float64) string {
	for awg := 24; awg >= thickestCable; awg -= 2 {
		if ohm, _ := OhmPerKM(awg); ohm <= ohmPerKM {
			return fmt.Sprintf(" (%d AWG)", awg)
		}
	}
	return ""
}

// lighterCable takes nanofarads per kilometre off a cable that is of one make
// throughout; there is none where it is not.
func (c *condition) lighterCable() way {
	perKM, one := c.common(func(k *Cable) float64 { return k.NFPerKM })
	if !one {
		return way{}
	}
	from := math.Ceil(perKM - slack)
	return way{int(from) - leastNFPerKM, func(c *condition, step int) string {
		nF := from - float64(step)
		for i := range c.Cables {
			c.Cables[i].NFPerKM = nF
		}
		return fmt.Sprintf("cable of at most %.0f nF per km", nF)
	}}
}

// common is what all cables have in common; one is false where they differ, or where
// there are none.
func (c *condition) common(of func(*Cable) float64) (x float64, one bool) {
	for i := range c.Cables {
		switch y := of(&c.Cables[i]); {
		case i == 0:
			x = y
		case x != y:
			return 0, false
		}
	}
	return x, len(c.Cables) > 0
}

// fewerDevices parks as many as [Loop.Most] allows. Any that many of the loop will do:
// all are held to what the most demanding one can bear.
func (c *condition) fewerDevices() way {
	n, _, _ := c.Most()
	return c.parkedOnly(n)
}

// fewerToCarry parks as many as the supply can carry.
func (c *condition) fewerToCarry() way {
	return c.parkedOnly(int(c.Supply.MostMA/ParkedMA + slack))
}

// parkedOnly takes devices away and parks those that are left.
func (c *condition) parkedOnly(n int) way {
	if n == 0 || n >= len(c.Devices) {
		return way{}
	}
	return way{1, func(c *condition, _ int) string {
		c.Devices, c.now, c.worst = c.Devices[:n], c.now[:n], c.worst[:n]
		c.park()
		if n == 1 {
			return fmt.Sprintf("one device only, parked at %.0f mA", ParkedMA)
		}
		return fmt.Sprintf("at most %d devices, parked at %.0f mA", n, ParkedMA)
	}}
}

// parkedDevices parks all, where some draw more.
func (c *condition) parkedDevices() way {
	draws := func(mA float64) bool { return mA > ParkedMA }
	if !slices.ContainsFunc(c.now, draws) && !slices.ContainsFunc(c.worst, draws) {
		return way{}
	}
	return way{1, func(c *condition, _ int) string {
		c.park()
		return fmt.Sprintf("all devices parked at %.0f mA", ParkedMA)
	}}
}

func (c *condition) park() {
	for i := range c.Devices {
		c.now[i], c.worst[i] = ParkedMA, ParkedMA
	}
}

// hostAtResistor clips the host across the resistor. One that is across the supply gets
// a resistor where there is too little of it.
func (c *condition) hostAtResistor() way {
	lacks := c.ResistorOhm < LowestOhm
	if c.Host.At == AcrossResistor || lacks && c.Host.At == AcrossDevice {
		return way{}
	}
	return way{1, func(c *condition, _ int) string {
		c.Host.At = AcrossResistor
		if !lacks {
			return "the host clipped across the resistor"
		}
		c.ResistorOhm = UsualResistorOhm
		return fmt.Sprintf("a resistor of %.0f ohm%s, and the host clipped across it", UsualResistorOhm, c.feed())
	}}
}
