package linefile

import (
	"fmt"
	"slices"
	"strings"

	"looptone/frame/unit"
	"looptone/frame/userfile"
	"looptone/sim/setting"
	"looptone/sim/transmitter"
)

// signalPath reads the tables that say what is between the process and the loop
// current of a device.
func signalPath(t *userfile.Table, k kind, on *ground, e *entry) {
	c := &e.Transmitter
	c.Grid = on.grid
	c.DampingS = t.Number("damping_s", 0)
	c.Stages = stages(t)
	t.Need("sensor", fmt.Sprintf("{ lower = 0.0, upper = 100.0, unit = %q }", exampleOf(k.quantity)))
	t.Sub("sensor", func(t *userfile.Table) { c.Sensor = sensor(t, k) })
	if c.Stages == nil || slices.Contains(c.Stages, "characterisation") {
		c.Characterisation = c.Sensor.Temperature
	}
	t.Sub("characterisation", func(t *userfile.Table) { c.Characterisation = temperature(t, c.Characterisation) })
	t.Sub("trim", func(t *userfile.Table) { c.Trim = trim(t) })
	c.Range = c.Sensor.Scale
	t.Sub("range", func(t *userfile.Table) { c.Range = scale(t, k.quantity, c.Sensor.Unit) })
	c.Transfer.Power = k.power
	t.Sub("transfer", func(t *userfile.Table) { c.Transfer = transfer(t, k.power) })
	rootLeftOut(t, c.Stages, k)
	t.Sub("table", func(t *userfile.Table) { c.Table, e.vessel = table(t) })
	t.Sub("user_unit", func(t *userfile.Table) {
		own := scale(t, unit.None, 0)
		c.UserUnit = &own
	})
	t.Sub("totaliser", func(t *userfile.Table) { c.Totaliser, e.SaveEvery = totaliser(t) })
	t.Sub("controller", func(t *userfile.Table) { c.Controller = controller(t) })
	t.Sub("output", func(t *userfile.Table) { output(t, c) })
	t.Need("process", `{ model = "constant", value = 50.0 }`)
	t.Sub("process", func(t *userfile.Table) { c.Process, e.valve = course(t, k, on) })
}

// twoSided are the kinds whose sensors have a low side that something can act on.
var twoSided = []string{"differential", "level", "flow"}

// sensor reads the limits of a sensor, and what it is exposed to.
func sensor(t *userfile.Table, k kind) transmitter.Sensor {
	s := transmitter.Sensor{
		Scale:       scale(t, k.quantity, 0),
		MinimumSpan: t.Number("minimum_span", 0),
		LowSide:     t.Number("low_side", 0),
		Temperature: temperature(t, transmitter.Temperature{}),
		AtC:         t.Number("at_c", transmitter.ReferenceC),
	}
	if t.Has("low_side") && k.name != "" && !slices.Contains(twoSided, k.name) {
		t.Refuse("low_side", fmt.Errorf("a sensor of kind %q has no low side to act on: leave it out, or want one of the kinds %s",
			k.name, strings.Join(twoSided, ", ")))
	}
	if k.name == absolute && s.Lower < 0 {
		t.Refuse("lower", setting.Refuse("sensor.lower", fmt.Sprintf("%g %v", s.Lower, s.Unit),
			"0 %v or more: nothing is below a vacuum", s.Unit))
	}
	return s
}

// temperature reads what every kelvin does to a value.
func temperature(t *userfile.Table, usual transmitter.Temperature) transmitter.Temperature {
	return transmitter.Temperature{
		ZeroPerK: t.Number("zero_per_k", usual.ZeroPerK),
		SpanPerK: t.Number("span_per_k_percent", usual.SpanPerK),
	}
}

// mostGain is the largest gain of a trim and of a converter: what is beyond is no
// error that a trim corrects, but a slip of the pen.
const mostGain = 10

func trim(t *userfile.Table) transmitter.Trim {
	return transmitter.Trim{Gain: t.AboveZero("gain", mostGain, 1), Offset: t.Number("offset", 0)}
}

// powers are the transfer functions that have a name.
//
// Source: Siemens SITRANS F US A5E34981613-AC, p.41, and Flowserve
// LMENIM2340-00, p.58 (the standard's transfer function code 0, linear); from
// memory (codes 1 to 3, the others).
var powers = []struct {
	name  string
	power float64
}{{"linear", 1}, {"1/2", 0.5}, {"3/2", 1.5}, {"5/2", 2.5}}

func transfer(t *userfile.Table, usual float64) transmitter.Transfer {
	f := transmitter.Transfer{Power: usual}
	if v, ok := t.Ask("power"); ok {
		f.Power, ok = powerOf(v)
		if !ok || f.Power <= 0 {
			t.RefuseValue("power", `"linear", "1/2", "3/2", "5/2" or a number above 0`)
		}
	}
	f.CutOffPercent = t.Number("cut_off_percent", 0)
	return f
}

func powerOf(v any) (power float64, ok bool) {
	for _, p := range powers {
		if v == p.name {
			return p.power, true
		}
	}
	return userfile.NumberOf(v)
}
