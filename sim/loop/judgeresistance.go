package loop

import "fmt"

// LowestOhm and HighestOhm are what the resistance of a loop may be, in ohm.
//
// Source: Instrumentation Reference Book, 3rd ed., p.227. A maker allows 230 to 600 ohm:
// Yokogawa RotaMASS manual IM 01R04B04-00E, p.6-1.
const (
	LowestOhm  = 230.0
	HighestOhm = 1100.0
)

// totalOhm is all resistance up to the far end of the cable.
func (l *Loop) totalOhm() float64 {
	ohm, _ := l.cableRC()
	return ohm + l.seriesOhm()
}

// hostOhm is what the host hears the devices across: the resistor, where it is clipped
// to that; at a device all that is between it and the supply. Across the supply it is a
// matter of the place, not of the resistance that the loop has.
func (l *Loop) hostOhm() float64 {
	switch l.Host.At {
	case AcrossResistor:
		return l.ResistorOhm
	case AcrossDevice:
		return l.seriesOhm() + l.pathOhm(l.Devices[l.Host.Device].Behind)
	}
	return l.seriesOhm()
}

// judgeResistance holds what the host hears across against the lower limit, and all that
// is in the loop against the upper one.
func (c *condition) judgeResistance() Verdict {
	v := c.resistance()
	if v.Finding == Broken {
		ways := []way{c.usualResistor(), c.smallerResistor(), c.thickerCable(), c.shorterCable(), c.smallerBarrier()}
		holds := func(c *condition) bool { return c.resistance().Finding == Holds }
		v.Mend = c.mend(holds, append(ways, c.fewerInstruments()...)...)
	}
	return v
}

func (l *Loop) resistance() Verdict {
	host, all := l.hostOhm(), l.totalOhm()
	v := Verdict{Limit: "loop resistance", Unit: "ohm", Got: host, Want: LowestOhm}
	if v.Finding = broken(host < LowestOhm-rounding); v.Finding == Broken {
		g, w := against(host, LowestOhm, 0)
		v.Says = fmt.Sprintf("%s ohm are there to hear the tones across, at least %s ohm are wanted", g, w)
		if host == 0 {
			v.Says = fmt.Sprintf("there is no resistor to hear the tones across, at least %s ohm are wanted", w)
		}
		return v
	}
	if all-LowestOhm > HighestOhm-all { // closer to the upper limit
		v.Got, v.Want, v.Finding = all, HighestOhm, broken(all > HighestOhm+rounding)
	}
	g, w := against(v.Got, v.Want, 0)
	switch {
	case v.Finding == Broken:
		v.Says = fmt.Sprintf("%s ohm are in the loop, at most %s ohm are allowed", g, w)
	case all-host < 0.5:
		v.Says = fmt.Sprintf("%s ohm, %.0f to %.0f ohm are allowed", g, LowestOhm, HighestOhm)
	default:
		v.Says = fmt.Sprintf("%.0f ohm to hear the tones across, %.0f ohm in the whole loop; %.0f to %.0f ohm are allowed", host, all, LowestOhm, HighestOhm)
	}
	return v
}
