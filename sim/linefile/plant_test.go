package linefile_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"looptone/sim/process"
)

func TestPlants(t *testing.T) {
	for text, want := range map[string]process.Config{
		`model = "tank", shape = "sphere", volume_m3 = 20`: {Model: process.Tank{
			Shape: process.Sphere, VolumeM3: 20, DensityKgM3: 1000, LevelPercent: 50}},
		`model = "tank", shape = "lying cylinder", volume_m3 = 20, inflow_m3h = 12, valve = "T-1"`: {Model: process.Tank{
			Shape: process.LyingCylinder, VolumeM3: 20, DensityKgM3: 1000, LevelPercent: 50, InflowM3H: 12, OutflowM3H: 24}},
		`model = "tank", shape = "cone apex down", volume_m3 = 20, height_m = 3, density_kg_m3 = 850, level_percent = 30, ` +
			`inflow_m3h = 12, outflow_m3h = 18, valve_on = "inflow", above_kpa = 2.5, valve = "T-1", noise = 0.5, fails_at_s = 30`: {Noise: 0.5, FailsAt: 30 * time.Second, Model: process.Tank{
			Shape: process.ConeDown, VolumeM3: 20, HeightM: 3, DensityKgM3: 850, LevelPercent: 30,
			InflowM3H: 12, OutflowM3H: 18, ValveOn: process.Inflow, AboveKPa: 2.5}},
		`model = "orifice", pipe_mm = 100, bore_mm = 60, discharge = 0.606, flow_kg_h = 36e3`: {Model: process.Orifice{
			PipeMM: 100, BoreMM: 60, Discharge: 0.606, Expansibility: 1, DensityKgM3: 1000, FlowKgH: 36000}},
		`model = "orifice", pipe_mm = 100, bore_mm = 60, discharge = 0.606, expansibility = 0.98, density_kg_m3 = 1.2, flow_kg_h = 360, ` +
			`swing_kg_h = 40, period_s = 30, lag_s = 2, valve = "T-1"`: {Model: process.Orifice{
			PipeMM: 100, BoreMM: 60, Discharge: 0.606, Expansibility: 0.98, DensityKgM3: 1.2, FlowKgH: 360,
			SwingKgH: 40, Period: 30 * time.Second, LagS: 2}},
		`model = "thermal", ambient = 20, rise = 60, time_constant_s = 90`: {Model: process.Thermal{
			Ambient: 20, Rise: 60, TimeConstant: 90 * time.Second, Start: 20}},
		`model = "thermal", ambient = 20, rise = 60, time_constant_s = 90, start = 35`: {Model: process.Thermal{
			Ambient: 20, Rise: 60, TimeConstant: 90 * time.Second, Start: 35}},
	} {
		d := parse(t, one("level", "process = { "+text+" }"))
		if diff := cmp.Diff(want, d.Devices[0].Transmitter.Process); diff != "" {
			t.Errorf("%s: want -, got +:\n%s", text, diff)
		}
		if got := d.Valves["T-1"]; (got == "T-1") != strings.Contains(text, "valve =") {
			t.Errorf("%s: got the valve %q", text, got)
		}
	}
}

// An absolute sensor at the bottom of an open tank reads the atmosphere when the
// tank is empty, a gauge nothing.
//
// Source: common practice (the standard atmosphere is 101.325 kPa).
func TestEmptyTankByKind(t *testing.T) {
	const empty = `{ model = "tank", shape = "sphere", volume_m3 = 20, level_percent = 0`
	for _, tt := range []struct {
		kind, keys string
		kPa        float64
	}{
		{"absolute", "", 101.325},
		{"absolute", ", above_kpa = 90", 90},
		{"gauge", "", 0},
		{"level", "", 0},
		{"differential", ", above_kpa = 30", 30},
	} {
		text := strings.Replace(one(tt.kind, "process = "+empty+tt.keys+" }"), "upper = 100", "upper = 200", 1)
		tr := assemble(t, parse(t, text), nil).Devices[0].Transmitter()
		if got := tr.Value(); got != tt.kPa {
			t.Errorf("%s%s: got %v kPa, want %v", tt.kind, tt.keys, got, tt.kPa)
		}
	}
}

// works is a line with the plants, of which a valve closes a loop.
const works = `line = { name = "Works" }
[[device]]
tag = "LC-1"
polling = 1
kind = "level"
sensor = { lower = 0.0, upper = 100.0, unit = "kPa" }
  [device.process]
  model = "tank"
  shape = "sphere"
  volume_m3 = 20.0
  valve = "FT-2"
[[device]]
tag = "FT-2"
polling = 2
kind = "flow"
sensor = { lower = -5.0, upper = 50.0, unit = "kPa" }
  [device.process]
  model = "orifice"
  pipe_mm = 100.0
  bore_mm = 60.0
  discharge = 0.606
  flow_kg_h = 36000
[[device]]
tag = "TT-3"
polling = 3
kind = "temperature"
sensor = { lower = 0.0, upper = 100.0, unit = "°C" }
process = { model = "thermal", ambient = 20.0, rise = 40.0, time_constant_s = 60 }
`

func TestPlantRefusals(t *testing.T) {
	refuses(t, works, []struct{ name, old, new, want string }{
		{"tank of nothing", "volume_m3 = 20.0", "volume_m3 = 0.0",
			`10:15: process.volume_m3: got 0, want more than 0`},
		{"tank of what size", "volume_m3 = 20.0", "",
			`7:11: [device.process] of model "tank" has no volume_m3, want for instance volume_m3 = 20.0`},
		{"tank of what shape", `shape = "sphere"`, "",
			`7:11: [device.process] of model "tank" has no shape, want for instance shape = "sphere"`},
		{"tank of no height", "volume_m3 = 20.0", "volume_m3 = 20.0\nheight_m = 0",
			`11:12: process.height_m: got 0, want more than 0 and at most 1000`},
		{"failure at no time", "volume_m3 = 20.0", "volume_m3 = 20.0\nfails_at_s = 0",
			`11:14: process.fails_at_s: got 0, want more than 0 and at most 1e+09`},
		{"low side of a thermometer", `unit = "°C" }`, `unit = "°C", low_side = 1 }`,
			`27:65: a sensor of kind "temperature" has no low side to act on: leave it out, or want one of the kinds differential, level, flow`},
		{"level above the top", "volume_m3 = 20.0", "volume_m3 = 20.0\nlevel_percent = 101",
			`11:17: process.level_percent: got 101, want 0 to 100`},
		{"pipe with the valve", "volume_m3 = 20.0", "volume_m3 = 20.0\nvalve_on = \"out\"",
			`11:12: valve_on "out" is unknown, want one of outflow, inflow`},
		{"valve of nobody", `"FT-2"
[[device]]`, `"FC-9"
[[device]]`, `11:11: valve "FC-9" is not on the line, want one of LC-1, FT-2, TT-3`},
		{"valve on what needs none", `model = "thermal", ambient = 20.0, rise = 40.0, time_constant_s = 60`,
			`model = "constant", value = 1, valve = "TT-3"`,
			`28:52: a valve acts on a tank, a flow through an orifice or a thermal process, not on one of model "constant": leave it out`},
		{"plant that the sensor cannot measure", "model = \"thermal\", ambient = 20.0, rise = 40.0, time_constant_s = 60",
			`model = "tank", shape = "sphere", volume_m3 = 1`,
			`28:21: process.model: got one with values in kPa, want one with values that convert to the sensor's °C`},
		{"bore as wide as the pipe", "bore_mm = 60.0", "bore_mm = 100.0",
			`20:13: process.bore_mm: got 100, want 10 to 75: 0.1 to 0.75 of process.pipe_mm, 100`},
		{"plate without its coefficient", "discharge = 0.606", "",
			`17:11: [device.process] of model "orifice" has no discharge, want for instance discharge = 0.606`},
		{"swing of what period", "flow_kg_h = 36000", "flow_kg_h = 36000\nswing_kg_h = 500",
			`23:14: swing_kg_h stands without a period_s, want both`},
		{"period of what swing", "flow_kg_h = 36000", "flow_kg_h = 36000\nswing_kg_h = 500\nperiod_s = 0.1",
			`24:12: process.period_s: got 0.1, want 0.4 or more: four grid points, which are grid_ms apart`},
		{"time constant below nothing", "time_constant_s = 60", "time_constant_s = -60",
			`28:79: process.time_constant_s: got -60, want 0 to 1e+09`},
	})
}
