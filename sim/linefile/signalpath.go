package linefile

import (
	"fmt"
	"time"

	"looptone/frame/unit"
	"looptone/frame/userfile"
	"looptone/sim/transmitter"
)

// signalPath reads the tables that say what is between the process and the loop
// current of a device.
func signalPath(t *userfile.Table, k kind, grid time.Duration) transmitter.Config {
	c := transmitter.Config{Grid: grid, DampingS: t.Number("damping_s", 0)}
	t.Need("sensor", fmt.Sprintf("{ lower = 0.0, upper = 100.0, unit = %q }", exampleOf(k.quantity)))
	t.Sub("sensor", func(t *userfile.Table) { c.Sensor = scale(t, k.quantity, 0) })
	c.Range = c.Sensor
	t.Sub("range", func(t *userfile.Table) { c.Range = scale(t, k.quantity, c.Sensor.Unit) })
	c.Transfer.Power = k.power
	t.Sub("transfer", func(t *userfile.Table) { c.Transfer = transfer(t, k.power) })
	t.Sub("user_unit", func(t *userfile.Table) {
		own := scale(t, unit.None, 0)
		c.UserUnit = &own
	})
	t.Sub("output", func(t *userfile.Table) {
		c.Current.LowerMA, c.Current.UpperMA = pair(t, "saturation_ma",
			transmitter.LowerSaturationMA, transmitter.UpperSaturationMA)
		c.Current.FailureMA = t.AboveZero("failure_ma", 100, transmitter.FailureMA)
	})
	t.Need("process", `{ model = "constant", value = 50.0 }`)
	t.Sub("process", func(t *userfile.Table) { c.Process = process(t) })
	return c
}

// powers are the transfer functions that have a name.
//
// Source: from memory (the standard's transfer function codes 0 to 3).
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

// process reads a course of what the sensor meets.
func process(t *userfile.Table) (p transmitter.Process) {
	t.Need("model", `"sine"`)
	model, ok := t.Choice("model", "constant", "ramp", "step", "sine")
	p.Noise = t.Number("noise", 0)
	if !ok {
		return p
	}
	t.Name += fmt.Sprintf(" of model %q", model)
	required := func(key string) float64 {
		t.Need(key, "10.0")
		return t.Number(key, 0)
	}
	span := func(key string) time.Duration {
		t.Need(key, "60")
		return seconds(t, key)
	}
	switch model {
	case "constant":
		p.Model = transmitter.Constant(required("value"))
	case "ramp":
		p.Model = transmitter.Ramp{From: required("from"), To: required("to"), Start: seconds(t, "start_s"), Length: span("length_s")}
	case "step":
		p.Model = transmitter.Step{Before: required("before"), After: required("after"), Start: span("start_s")}
	case "sine":
		p.Model = transmitter.Sine{Low: required("low"), High: required("high"), Period: span("period_s")}
	}
	return p
}
