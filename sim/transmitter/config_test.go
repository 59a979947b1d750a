package transmitter_test

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"looptone/sim"
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
		{func(c *config) { c.Sensor.LowSide = nan }, "sensor.low_side: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Sensor.MinimumSpan = -1 }, "sensor.minimum_span: got -1, want 0 or more"},
		{func(c *config) { c.Sensor.MinimumSpan = 301 },
			"sensor.minimum_span: got 301 kPa, want up to 300 kPa, which is from one limit to the other"},
		{func(c *config) { c.Sensor.AtC = -274 }, "sensor.at_c: got -274 °C, want -273.15 °C or more"},
		{func(c *config) { c.Sensor.AtC = nan }, "sensor.at_c: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Sensor.Temperature.ZeroPerK = inf },
			"sensor.zero_per_k: got +Inf, want a number that a 32-bit float holds"},
		{func(c *config) { c.Sensor.Temperature.SpanPerK, c.Sensor.AtC = -4, 45 },
			"sensor.span_per_k_percent: got -4, want one that leaves a span at 45 °C"},
		{func(c *config) { c.Characterisation.SpanPerK = 5 },
			"characterisation.span_per_k_percent: got 5, want one that leaves a span at 0 °C"},
		{func(c *config) { c.Characterisation.ZeroPerK = nan },
			"characterisation.zero_per_k: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Process.Model = in{process.Constant(1), celsius} },
			"process.model: got one with values in °C, want one with values that convert to the sensor's kPa"},
		{func(c *config) { c.Sensor.MinimumSpan, c.Range.Lower = 25, 76 },
			"range.upper: got 100 kPa, want a span of at least 25 kPa: it is 24 kPa from range.lower, 76 kPa"},
		{func(c *config) {
			c.Sensor.MinimumSpan, c.Range = 25, transmitter.Scale{Lower: 1, Upper: 0.875, Unit: bar}
		},
			"range.upper: got 0.875 bar, want a span of at least 25 kPa: it is 12.5 kPa from range.lower, 1 bar"},
		{func(c *config) { c.Trim.Gain = -1 }, "trim.gain: got -1, want more than 0"},
		{func(c *config) { c.Trim.Offset = nan }, "trim.offset: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Table = make([]transmitter.Point, 1) }, "table.points: got 1 point, want 2 to 32"},
		{func(c *config) { c.Table = make([]transmitter.Point, 33) }, "table.points: got 33 points, want 2 to 32"},
		{func(c *config) { c.Table = []transmitter.Point{{X: 0}, {X: 40}, {X: 40, Y: 7}} },
			"table.points[2]: got 40 % after 40 %, want inputs that rise from point to point"},
		{func(c *config) { c.Table = []transmitter.Point{{X: 0}, {X: 40}, {X: 30}, {X: 50}} },
			"table.points[2]: got 30 % after 40 %, want inputs that rise from point to point"},
		{func(c *config) { c.Table = []transmitter.Point{{X: 0}, {X: nan}} },
			"table.points[1]: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Table = []transmitter.Point{{Y: inf}, {X: 1}} },
			"table.points[0]: got +Inf, want a number that a 32-bit float holds"},
		{func(c *config) { *c = metering(process.Constant(0)); c.Totaliser.Unit = 61 },
			"totaliser.unit: got kg, want a unit of volume for a volume flow in m³/h, for instance m³"},
		{func(c *config) { *c = metering(process.Constant(0)); c.UserUnit.Unit = 75 },
			"totaliser.unit: got m³, want a unit of mass for a mass flow in kg/h, for instance kg"},
		{func(c *config) { *c = metering(process.Constant(0)); c.UserUnit = nil },
			"totaliser.unit: got m³, but the primary variable is in kPa, want a primary variable that is a flow, " +
				"for instance by a user_unit in m³/h or kg/h"},
		{func(c *config) { *c = metering(process.Constant(0)); c.Totaliser.Begin.Net = nan },
			"totaliser.net: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { *c = metering(process.Constant(0)); c.Totaliser.Begin.Forward = -1 },
			"totaliser.forward: got -1, want 0 or more"},
		{func(c *config) { c.Controller = &transmitter.Controller{} }, "controller.gain: got 0, want more than 0"},
		{func(c *config) { c.Controller = &transmitter.Controller{Gain: nan} },
			"controller.gain: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Controller = &transmitter.Controller{Gain: 1, Mode: 3} },
			"controller.mode: got 3, want off, manual or auto"},
		{func(c *config) { c.Controller = &transmitter.Controller{Gain: 1, SetPoint: inf} },
			"controller.set_point_percent: got +Inf, want a number that a 32-bit float holds"},
		{func(c *config) { c.Controller = &transmitter.Controller{Gain: 1, IntegralS: -1} },
			"controller.integral_s: got -1, want 0 or more"},
		{func(c *config) { c.Controller = &transmitter.Controller{Gain: 1, DerivativeS: nan} },
			"controller.derivative_s: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Controller = &transmitter.Controller{Gain: 1, Lower: 60, Upper: 40} },
			"controller.output_percent: got 60 to 40, want a lower limit, then an upper one"},
		{func(c *config) { c.Controller = &transmitter.Controller{Gain: 1, Manual: 101} },
			"controller.manual_percent: got 101, want 0 to 100"},
		{func(c *config) { c.Source = transmitter.ManipulatedVariable },
			"output.source: got the manipulated variable, want the process variable: there is no controller"},
		{func(c *config) { c.Source = 2 }, "output.source: got 2, want the process variable or the manipulated variable"},
		{func(c *config) { c.Current.HeldMA = 2.9 }, "output.fixed_ma: got 2.9, want 3 to 25"},
		{func(c *config) { c.Current.HeldMA = 95 }, "output.fixed_ma: got 95, want 3 to 25"},
		{func(c *config) { c.Current.Converter.Gain = -1 }, "output.converter_gain: got -1, want more than 0"},
		{func(c *config) { c.Current.Converter.Offset = nan },
			"output.converter_offset_ma: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Current.Trim.Gain = -1 }, "output.trim_gain: got -1, want more than 0"},
		{func(c *config) { c.DampingS = -1 }, "damping_s: got -1, want 0 or more"},
		{func(c *config) { c.DampingS = nan }, "damping_s: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Transfer.Power = -0.5 }, "transfer.power: got -0.5, want 0 or more"},
		{func(c *config) { c.Transfer.Power = inf }, "transfer.power: got +Inf, want a number that a 32-bit float holds"},
		{func(c *config) { c.Transfer.CutOffPercent = -1 }, "transfer.cut_off_percent: got -1, want 0 to 100"},
		{func(c *config) { c.Transfer.CutOffPercent = 100.5 }, "transfer.cut_off_percent: got 100.5, want 0 to 100"},
		{func(c *config) { c.Transfer.CutOffPercent = nan }, "transfer.cut_off_percent: got NaN, want 0 to 100"},
		{func(c *config) { c.UserUnit = &transmitter.Scale{Upper: 1} }, "user_unit.unit: got unit code 0, want the code of a unit"},
		{func(c *config) { c.UserUnit = &transmitter.Scale{Lower: 5, Upper: 5, Unit: cubicPerHour} },
			"user_unit.upper: got 5 m³/h, want another value than user_unit.lower"},
		{func(c *config) { c.Current.LowerMA, c.Current.UpperMA = 20.5, 3.8 },
			"output.saturation_ma: got 20.5 to 3.8 mA, want a lower limit up to 4 mA and an upper one from 20 mA on"},
		{func(c *config) { c.Current.UpperMA = 19 },
			"output.saturation_ma: got 3.8 to 19 mA, want a lower limit up to 4 mA and an upper one from 20 mA on"},
		{func(c *config) { c.Current.LowerMA = -3.8 }, "output.saturation_ma: got -3.8, want 3 to 25"},
		{func(c *config) { c.Current.UpperMA = nan }, "output.saturation_ma: got NaN, want 3 to 25"},
		{func(c *config) { c.Current.UpperMA = 90 }, "output.saturation_ma: got 90, want 3 to 25"},
		{func(c *config) { c.Current.FailureMA = 90 }, "output.failure_ma: got 90, want 3 to 25"},
		{func(c *config) { c.Current.FailureMA = 12 },
			"output.failure_ma: got 12 mA, want less than 3.8 or more than 20.5 mA, the saturation limits"},
		{func(c *config) { c.Process.Model = nil }, "process.model: got none, want one of the models"},
		{func(c *config) { c.Process.Noise = -0.1 }, "process.noise: got -0.1, want 0 or more"},
		{func(c *config) { c.Process.FailsAt = -time.Second }, "process.fails_at_s: got -1, want 0 or more"},
		{func(c *config) { c.Process.Model = process.Constant(inf) },
			"process.value: got +Inf, want a number that a 32-bit float holds"},
		{func(c *config) { c.Process.Model = process.Step{After: nan} },
			"process.after: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Process.Model = process.Step{Start: -time.Second} },
			"process.start_s: got -1, want 0 or more"},
		{func(c *config) { c.Process.Model = process.Ramp{From: nan} },
			"process.from: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Process.Model = process.Ramp{Length: -time.Second} },
			"process.length_s: got -1, want 0 or more"},
		{func(c *config) { c.Process.Model = process.Sine{Low: nan} },
			"process.low: got NaN, want a number that a 32-bit float holds"},
		{func(c *config) { c.Process.Model = process.Sine{Period: 399 * time.Millisecond} },
			"process.period_s: got 0.399, want 0.4 or more: four grid points, which are grid_ms apart"},
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
	want := transmitter.Current{HeldMA: 4, LowerMA: 3.8, UpperMA: 20.5, FailureMA: 21.5,
		Converter: transmitter.Converter{Gain: 1}, Trim: transmitter.Trim{Gain: 1}}
	if cfg.Current != want {
		t.Errorf("got output %+v, want %+v", cfg.Current, want)
	}
}

// What a caller does to its Config, or to one it was given, stays without effect.
func TestConfigIsACopy(t *testing.T) {
	given := complete()
	given.Stages = []string{"sensor", "characterisation", "damping", "trim", "range", "transfer", "table", "user_unit",
		"totaliser", "controller", "output"}
	tr := start(t, given)
	want := tr.Config()
	taken := tr.Config()
	for _, cfg := range []transmitter.Config{given, taken} {
		cfg.UserUnit.Upper, cfg.Totaliser.Unit, cfg.Controller.Gain, cfg.Table[1].Y, cfg.Stages[2] = 2, 0, -1, 99, "trim"
	}
	var changed transmitter.Config
	set(t, tr, 0, func(c *transmitter.Config) { changed = *c })
	changed.Table[1].Y, changed.Controller.Gain = 99, -1
	if diff := cmp.Diff(want, tr.Config()); diff != "" {
		t.Errorf("before -, after +:\n%s", diff)
	}
	tr.To(sim.Second)
}
