package transmitter_test

import (
	"testing"
	"time"

	"looptone/sim"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

func TestSensorReadsTheDifference(t *testing.T) {
	cfg := pressure(process.Constant(180))
	cfg.Sensor.LowSide = 120
	tr := start(t, cfg)
	near(t, "process", output(t, tr, "process"), 180, 0)
	near(t, "sensor", output(t, tr, "sensor"), 60, 0)
	near(t, "loop current", tr.LoopCurrentMA(), 13.6, 1e-12)

	set(t, tr, 0, func(c *transmitter.Config) { c.Sensor.LowSide = 240 })
	if value, status := tr.Value(), tr.Status(); value != -60 || !status.OutOfLimits {
		t.Errorf("got %v kPa and status %+v, want -60 kPa and out of limits", value, status)
	}
}

// Source: BIPM, The International System of Units, 9th edition, table 8 (1 bar is
// 100 kPa); common practice (0 °C is 32 °F).
func TestSensorMeetsTheProcessInItsOwnUnit(t *testing.T) {
	tr := start(t, pressure(in{process.Constant(0.4), bar}))
	near(t, "0.4 bar in kPa", output(t, tr, "process"), 40, 1e-12)
	near(t, "percent of range", tr.PercentOfRange(), 40, 1e-12)

	cold := transmitter.Config{
		Process: process.Config{Model: in{process.Constant(32), fahrenheit}},
		Sensor:  transmitter.Sensor{Scale: transmitter.Scale{Lower: -50, Upper: 150, Unit: celsius}},
		Range:   transmitter.Scale{Lower: 0, Upper: 100, Unit: celsius},
	}
	near(t, "32 °F in °C", output(t, start(t, cold), "sensor"), 0, 1e-12)
}

// 25 K above the reference a sensor that drifts by 0.02 kPa and 0.04 % a kelvin
// reads 100 kPa as 100 × 1.01 + 0.5.
func TestTemperature(t *testing.T) {
	cfg := pressure(process.Constant(100))
	cfg.Sensor.Temperature = transmitter.Temperature{ZeroPerK: 0.02, SpanPerK: 0.04}
	cfg.Sensor.AtC = 45
	tr := start(t, cfg)
	near(t, "not characterised", tr.Value(), 101.5, 1e-12)

	set(t, tr, 0, func(c *transmitter.Config) { c.Characterisation.ZeroPerK = 0.02 })
	near(t, "zero characterised", tr.Value(), 101, 1e-12)
	set(t, tr, 0, func(c *transmitter.Config) { c.Characterisation.SpanPerK = 0.04 })
	near(t, "characterised", tr.Value(), 100, 1e-12)
	near(t, "sensor", output(t, tr, "sensor"), 101.5, 1e-12)

	set(t, tr, 0, func(c *transmitter.Config) { c.Sensor.AtC = -5 })
	near(t, "sensor at -5 °C", output(t, tr, "sensor"), 98.5, 1e-12)
	near(t, "characterised at -5 °C", tr.Value(), 100, 1e-12)
	set(t, tr, 0, func(c *transmitter.Config) { c.Sensor.AtC = transmitter.ReferenceC })
	near(t, "sensor at 20 °C", output(t, tr, "sensor"), 100, 0)
}

// What temperature makes of the process may pass the limits too.
func TestTemperatureActsBeforeTheLimits(t *testing.T) {
	cfg := pressure(process.Constant(249))
	cfg.Sensor.Temperature.ZeroPerK, cfg.Sensor.AtC = 0.1, 40
	cfg.Characterisation = cfg.Sensor.Temperature
	tr := start(t, cfg)
	near(t, "sensor", output(t, tr, "sensor"), 251, 1e-12)
	near(t, "value", tr.Value(), 249, 1e-12)
	if !tr.Status().OutOfLimits {
		t.Error("got a status within limits, want out of limits")
	}
}

// A sensor without a reading stands for a failure. Nothing that it does stays
// when it reads again.
//
// Source: NAMUR NE 43, as summarised at industryhub.site/en/standards/namur-ne-43
// (a failure is above 21.0 mA).
func TestSensorThatReadsNothing(t *testing.T) {
	cfg := complete()
	changed := process.Step{Before: 50, After: 80, Start: 15 * time.Second}
	cfg.Process.Model = broken{changed, 10 * sim.Second, 20 * sim.Second}
	cfg.Process.Noise = 0
	tr := start(t, cfg)
	tr.To(10*sim.Second - 1)
	totals, out := tr.Totals(), output(t, tr, "controller")
	for _, at := range []sim.Tick{10 * sim.Second, 20*sim.Second - 1} {
		tr.To(at)
		if got := tr.LoopCurrentMA(); got != transmitter.FailureMA {
			t.Errorf("got %v mA, want %v mA", got, transmitter.FailureMA)
		}
		if got, want := tr.Status(), (transmitter.Status{Malfunction: true}); got != want {
			t.Errorf("got status %+v, want %+v", got, want)
		}
		if got := tr.Totals(); got != totals {
			t.Errorf("got totals %+v, want %+v as before", got, totals)
		}
	}
	tr.To(20 * sim.Second)
	near(t, "controller, reading again", output(t, tr, "controller"), out, 1e-12)
	if got := tr.Status(); got != (transmitter.Status{}) {
		t.Errorf("got status %+v, want none", got)
	}
	near(t, "damping, reading again", output(t, tr, "damping"), output(t, tr, "characterisation"), 0)
	tr.To(21 * sim.Second)
	if got := tr.Totals(); !(got.Net > totals.Net) {
		t.Errorf("got totals %+v, want more than %+v", got, totals)
	}
}
