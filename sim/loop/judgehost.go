package loop

import "fmt"

// judgeHost looks at where the host is clipped on, and how.
func (c *condition) judgeHost() []Verdict {
	v := c.place()
	if v.Finding == Broken {
		v.Mend = c.mend(func(c *condition) bool { return c.place().Finding == Holds }, c.hostAtResistor(), c.hostAtDevice())
	}
	all := []Verdict{v}
	if c.Host.Swapped {
		all = append(all, words("host", "", Holds, "the leads of the host are swapped; that changes nothing, tones alternate"))
	}
	return all
}

// place is the verdict on where the host is clipped on.
func (l *Loop) place() Verdict {
	switch l.Host.At {
	case AcrossResistor:
		return words("host", "", Holds, "the host is clipped across the resistor")
	case AcrossDevice:
		return words("host", "", Holds, "the host is clipped across "+l.Devices[l.Host.Device].Name)
	}
	short := l.Supply.Ohm < LowestOhm-rounding
	g, w := against(l.Supply.Ohm, LowestOhm, 0)
	says := fmt.Sprintf("the host is clipped across the supply, which has %s ohm for the tones; at least %s ohm are wanted", g, w)
	return Verdict{Limit: "host", Finding: broken(short), Got: l.Supply.Ohm, Want: LowestOhm, Unit: "ohm", Says: says}
}

// hostAtDevice clips the host across the first device, where the loop has enough
// resistance before it.
func (c *condition) hostAtDevice() way {
	if len(c.Devices) == 0 || c.seriesOhm() < LowestOhm {
		return way{}
	}
	return way{1, func(c *condition, _ int) string {
		c.Host.At, c.Host.Device = AcrossDevice, 0
		return "the host clipped across a device"
	}}
}
