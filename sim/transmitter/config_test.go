package transmitter_test

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"looptone/sim/process"
	"looptone/sim/setting"
	"looptone/sim/transmitter"
)

// sentence wants err to be a [*setting.Error] that says want.
func sentence(t *testing.T, err error, want string) {
	t.Helper()
	var refused *setting.Error
	if !errors.As(err, &refused) {
		t.Errorf("got error %v, want a setting.Error: %s", err, want)
		return
	}
	if err.Error() != want {
		t.Errorf("got  %s\nwant %s", err, want)
	}
	if !strings.HasPrefix(want, refused.Name+": ") {
		t.Errorf("got setting %q, want the one that leads: %s", refused.Name, want)
	}
}

func TestNewRefuses(t *testing.T) {
	type config = transmitter.Config
	nan, inf := math.NaN(), math.Inf(1)
	tests := []struct {
		change func(c *config)
		want   string
	}{
		{func(c *config) { c.Grid = 9 * time.Millisecond }, "grid_ms: got 9ms, want 10ms to 1s"},
		{func(c *config) { c.Grid = 1001 * time.Millisecond }, "grid_ms: got 1.001s, want 10ms to 1s"},
		{func(c *config) { c.Sensor.Unit = 0 }, "sensor.unit: got unit code 0, want the code of a unit"},
		{func(c *config) { c.Sensor.Lower = nan }, "sensor.lower: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Sensor.Upper = 1e39 }, "sensor.upper: got 1e+39, want a number that a 32-bit float holds"},
		{func(c *config) { c.Sensor.Upper = -50 }, "sensor.upper: got -50 kPa, want another value than sensor.lower"},
		{func(c *config) { c.Sensor.Upper = -60 }, "sensor.upper: got -60 kPa, want more than sensor.lower, -50 kPa"},
		{func(c *config) { c.Range.Unit = 250 }, "range.unit: got unit code 250, want the code of a unit"},
		{func(c *config) { c.Range.Unit = celsius }, "range.unit: got °C, want a unit of pressure, as the sensor's kPa is"},
		{func(c *config) { c.Range.Lower = -inf }, "range.lower: got -Inf, want a number that a 32-bit float holds"},
		{func(c *config) { c.Range.Upper = 0 }, "range.upper: got 0 kPa, want another value than range.lower"},
		{func(c *config) { c.Range.Lower = -50.1 }, "range.lower: got -50.1 kPa, want -50 to 250 kPa, the sensor's limits"},
		{func(c *config) { c.Range.Upper = 250.1 }, "range.upper: got 250.1 kPa, want -50 to 250 kPa, the sensor's limits"},
		{func(c *config) { c.Range = transmitter.Scale{Upper: 4, Unit: bar} },
			"range.upper: got 4 bar, that is 400 kPa, want -50 to 250 kPa, the sensor's limits"},
		{func(c *config) { c.Range.Lower, c.Range.Upper = 250, 250.0000001 },
			"range.upper: got 250.0000001 kPa, want another value than range.lower"},
		{func(c *config) { c.Sensor.Unit, c.Range.Unit = brix, api },
			"range.unit: got °API, want °Brix, as the sensor has: nothing else converts to it"},
		{func(c *config) { c.DampingS = -1 }, "damping_s: got -1, want 0 or more"},
		{func(c *config) { c.DampingS = nan }, "damping_s: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Transfer.Power = -0.5 }, "transfer.power: got -0.5, want 0 or more"},
		{func(c *config) { c.Transfer.Power = inf }, "transfer.power: got +Inf, want a number that a 32-bit float holds"},
		{func(c *config) { c.Transfer.CutOffPercent = -1 }, "transfer.cut_off_percent: got -1, want 0 to 100"},
		{func(c *config) { c.Transfer.CutOffPercent = 100.5 }, "transfer.cut_off_percent: got 100.5, want 0 to 100"},
		{func(c *config) { c.Transfer.CutOffPercent = nan }, "transfer.cut_off_percent: got NaN, want 0 to 100"},
		{func(c *config) { c.UserUnit = &transmitter.Scale{Upper: 1} }, "user_unit.unit: got unit code 0, want the code of a unit"},
		{func(c *config) { c.UserUnit = &transmitter.Scale{Lower: 5, Upper: 5, Unit: cubic} },
			"user_unit.upper: got 5 m³/h, want another value than user_unit.lower"},
		{func(c *config) { c.Current.LowerMA, c.Current.UpperMA = 20.5, 3.8 },
			"output.saturation_ma: got 20.5 to 3.8 mA, want a lower limit up to 4 mA and an upper one from 20 mA on"},
		{func(c *config) { c.Current.UpperMA = 19 },
			"output.saturation_ma: got 3.8 to 19 mA, want a lower limit up to 4 mA and an upper one from 20 mA on"},
		{func(c *config) { c.Current.LowerMA = -3.8 }, "output.saturation_ma: got -3.8, want 0 or more"},
		{func(c *config) { c.Current.UpperMA = nan }, "output.saturation_ma: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Current.FailureMA = 12 },
			"output.failure_ma: got 12 mA, want less than 3.8 or more than 20.5 mA, the saturation limits"},
		{func(c *config) { c.Process.Model = nil }, "process.model: got none, want one of the models"},
		{func(c *config) { c.Process.Noise = -0.1 }, "process.noise: got -0.1, want 0 or more"},
		{func(c *config) { c.Process.Model = process.Constant(inf) },
			"process.value: got +Inf, want a number that a 32-bit float holds"},
		{func(c *config) { c.Process.Model = process.Step{After: nan} },
			"process.after: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Process.Model = process.Step{Start: -time.Second} },
			"process.start_s: got -1s, want 0s or more"},
		{func(c *config) { c.Process.Model = process.Ramp{From: nan} },
			"process.from: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Process.Model = process.Ramp{Length: -time.Second} },
			"process.length_s: got -1s, want 0s or more"},
		{func(c *config) { c.Process.Model = process.Sine{Low: nan} },
			"process.low: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Process.Model = process.Sine{Period: 399 * time.Millisecond} },
			"process.period_s: got 399ms, want 400ms or more"},
	}
	for _, tt := range tests {
		cfg := pressure(process.Constant(0))
		tt.change(&cfg)
		_, err := transmitter.New(cfg)
		sentence(t, err, tt.want)
	}
}

func TestConfigShowsTheDefaults(t *testing.T) {
	cfg := start(t, pressure(process.Constant(0))).Config()
	if cfg.Grid != 100*time.Millisecond {
		t.Errorf("got grid %v, want 100ms", cfg.Grid)
	}
	if cfg.Transfer != (transmitter.Transfer{Power: 1}) {
		t.Errorf("got transfer function %+v, want linear without cut-off", cfg.Transfer)
	}
	if want := (transmitter.Current{HeldMA: 4, LowerMA: 3.8, UpperMA: 20.5, FailureMA: 21.5}); cfg.Current != want {
		t.Errorf("got output %+v, want %+v", cfg.Current, want)
	}
}

// What a caller does to its Config, or to one it was given, stays without effect.
func TestConfigIsACopy(t *testing.T) {
	own := transmitter.Scale{Lower: 0, Upper: 120, Unit: cubic}
	cfg := pressure(process.Constant(100))
	cfg.UserUnit = &own
	tr := start(t, cfg)
	own.Upper = 1
	tr.Config().UserUnit.Upper = 2
	if got := tr.Config().UserUnit.Upper; got != 120 {
		t.Errorf("got an upper value of %v, want 120", got)
	}
}
