package loop

import (
	"fmt"
	"math"

	"looptone/sim"
)

// judgeTones looks at every device: what of the host's tones reaches it, and what of its
// own reaches the host.
func (c *condition) judgeTones(b *Budget) (all []Verdict) {
	var mend string
	judge := func(talker, listener int) {
		v := c.reaches(b, talker, listener)
		if v.Finding == Broken {
			if mend == "" {
				mend = c.mendTones()
			}
			v.Mend = mend
			if mend == together {
				v.Mend = c.louder(&v, talker)
			}
		}
		all = append(all, v)
	}
	for i := range c.Devices {
		judge(TheHost, i)
		judge(i, TheHost)
	}
	return all
}

// reaches is the verdict on one talker and one listener, one of them the host. That the
// other is dark is the matter of another verdict, and only said.
func (c *condition) reaches(b *Budget, talker, listener int) Verdict {
	v := Verdict{Limit: "tones", Got: b.Tones.Level(talker, listener) * 1000, Want: sim.AlwaysHeard * 1000, Unit: "mV"}
	v.Finding = broken(v.Got < v.Want-rounding)

	limit := sim.AlwaysHeard * 1000
	often := "heard"
	switch {
	case v.Got < sim.NeverHeard*1000:
		limit, often = sim.NeverHeard*1000, "not heard"
	case v.Finding == Broken:
		often = "heard by chance"
	}
	g, _ := against(v.Got, limit, 0)
	wants := fmt.Sprintf("%s, at least %.0f mV are wanted", often, v.Want)
	reach, device := "reach", max(talker, listener) // the host is below all indices
	if b.Now.Devices[device].Dark != Lit {
		reach, wants = "would reach", wants+"; but it is dark"
	}
	v.Device = c.Devices[device].Name
	v.Says = fmt.Sprintf("%s mV of the tones of %s %s the host: %s", g, v.Device, reach, wants)
	if talker == TheHost {
		v.Says = fmt.Sprintf("%s mV of the host's tones %s %s: %s", g, reach, v.Device, wants)
	}
	return v
}

// mendTones is what lets everybody be heard.
func (c *condition) mendTones() string {
	ways := []way{c.hostAtResistor(), c.usualResistor(), c.shorterCable(), c.lighterCable(), c.quieterSupply(), c.smallerResistor(), c.thickerCable(), c.louderHost()}
	return c.mend((*condition).heard, ways...)
}

// heard reports whether all devices and the host hear each other.
func (c *condition) heard() bool {
	t := c.Tones()
	for i := range c.Devices {
		if min(t.Level(TheHost, i), t.Level(i, TheHost)) < sim.AlwaysHeard-rounding {
			return false
		}
	}
	return true
}

// quieterSupply takes its impedance for the tones down by ohms.
func (c *condition) quieterSupply() way {
	from := math.Ceil(c.Supply.Ohm - slack)
	return way{int(from) - 1, func(c *condition, step int) string {
		c.Supply.Ohm = from - float64(step)
		return fmt.Sprintf("a supply with at most %.0f ohm for the tones", c.Supply.Ohm)
	}}
}

// louderHost raises what it gives by hundredths of a volt.
func (c *condition) louderHost() way {
	from := math.Floor(c.Host.V*100 + slack)
	return way{int(strongestTones*100 - from + slack), func(c *condition, step int) string {
		c.Host.V = (from + float64(step)) / 100
		return "a host that gives " + atLeast(c.Host.V)
	}}
}

func atLeast(v float64) string {
	return fmt.Sprintf("at least %s V of tones across %.0f ohm", figure(v, 2), UsualResistorOhm)
}

// louder says how loud one talker would have to be for one listener: levels go with
// what is sent.
func (c *condition) louder(v *Verdict, talker int) string {
	sent, who := c.Host.V, "a host"
	if talker != TheHost {
		sent, who = c.Devices[talker].ToneMA*UsualResistorOhm/1000, v.Device
	}
	wanted := math.Ceil(sent*v.Want/v.Got*100-slack) / 100
	if v.Got == 0 || wanted > strongestTones {
		return together
	}
	return who + " that gives " + atLeast(wanted)
}
