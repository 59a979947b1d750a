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
	t.Sub("sensor", func(t *userfile.Table) { c.Sensor.Scale = scale(t, k.quantity, 0) })
	c.Range = c.Sensor.Scale
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
	t.Sub("process", func(t *userfile.Table) { c.Process = course(t) })
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
