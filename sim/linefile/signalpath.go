package linefile

import (
	"fmt"
	"time"

	"looptone/frame/unit"
	"looptone/sim/transmitter"
)

// signalPath reads the tables that say what is between the process and the loop
// current of a device.
func (t *table) signalPath(k kind, grid time.Duration) transmitter.Config {
	c := transmitter.Config{Grid: grid, DampingS: t.number("damping_s", 0)}
	t.need("sensor", fmt.Sprintf("{ lower = 0.0, upper = 100.0, unit = %q }", exampleOf(k.quantity)))
	t.sub("sensor", func(t *table) { c.Sensor = t.scale(k.quantity, 0) })
	c.Range = c.Sensor
	t.sub("range", func(t *table) { c.Range = t.scale(k.quantity, c.Sensor.Unit) })
	c.Transfer.Power = k.power
	t.sub("transfer", func(t *table) { c.Transfer = t.transfer(k.power) })
	t.sub("user_unit", func(t *table) {
		own := t.scale(unit.None, 0)
		c.UserUnit = &own
	})
	t.sub("output", func(t *table) {
		c.Current.LowerMA, c.Current.UpperMA = t.pair("saturation_ma",
			transmitter.LowerSaturationMA, transmitter.UpperSaturationMA)
		c.Current.FailureMA = t.aboveZero("failure_ma", 100, transmitter.FailureMA)
	})
	t.need("process", `{ model = "constant", value = 50.0 }`)
	t.sub("process", func(t *table) { c.Process = t.process() })
	return c
}

// powers are the transfer functions that have a name.
//
// Source: from memory (the standard's transfer function codes 0 to 3).
var powers = []struct {
	name  string
	power float64
}{{"linear", 1}, {"1/2", 0.5}, {"3/2", 1.5}, {"5/2", 2.5}}

func (t *table) transfer(usual float64) transmitter.Transfer {
	f := transmitter.Transfer{Power: usual}
	if v, ok := t.ask("power"); ok {
		f.Power, ok = powerOf(v)
		if !ok || f.Power <= 0 {
			t.refuseValue("power", `"linear", "1/2", "3/2", "5/2" or a number above 0`)
		}
	}
	f.CutOffPercent = t.number("cut_off_percent", 0)
	return f
}

func powerOf(v any) (power float64, ok bool) {
	for _, p := range powers {
		if v == p.name {
			return p.power, true
		}
	}
	return numberOf(v)
}

// process reads a course of what the sensor meets.
func (t *table) process() (p transmitter.Process) {
	t.need("model", `"sine"`)
	model, ok := t.choice("model", "constant", "ramp", "step", "sine")
	p.Noise = t.number("noise", 0)
	if !ok {
		return p
	}
	t.name += fmt.Sprintf(" of model %q", model)
	required := func(key string) float64 {
		t.need(key, "10.0")
		return t.number(key, 0)
	}
	span := func(key string) time.Duration {
		t.need(key, "60")
		return t.seconds(key)
	}
	switch model {
	case "constant":
		p.Model = transmitter.Constant(required("value"))
	case "ramp":
		p.Model = transmitter.Ramp{From: required("from"), To: required("to"), Start: t.seconds("start_s"), Length: span("length_s")}
	case "step":
		p.Model = transmitter.Step{Before: required("before"), After: required("after"), Start: span("start_s")}
	case "sine":
		p.Model = transmitter.Sine{Low: required("low"), High: required("high"), Period: span("period_s")}
	}
	return p
}
