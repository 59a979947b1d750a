package linefile_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

const cubicMetre unit.Code = 43 // m³

// whole is a description with every table that a signal path has.
const whole = `[line]
name = "Bench"
store_ms = 20

[[device]]
tag = "FC-1"
polling = 2
kind = "flow"
revision = 5
multidrop_current = true
write_ms = 150
write_protect = true
stages = ["sensor", "characterisation", "trim", "range", "damping", "transfer", "table", "user_unit", "totaliser", "controller", "output"]
  [device.sensor]
  lower = -50.0
  upper = 50.0
  unit = "kPa"
  minimum_span = 2.5
  low_side = 1.5
  at_c = 45.0
  zero_per_k = 0.02
  span_per_k_percent = 0.01
  [device.characterisation]
  zero_per_k = 0.015
  [device.trim]
  gain = 1.01
  offset = -0.25
  [device.range]
  lower = 0.0
  upper = 25.0
  [device.transfer]
  power = "1/2"
  [device.table]
  points = [[0, 0], [50, 30.5], [100, 100]]
  [device.user_unit]
  lower = 0.0
  upper = 120.0
  unit = "m³/h"
  [device.totaliser]
  unit = "m³"
  save_every = "2m"
  [device.controller]
  mode = "auto"
  action = "direct"
  set_point_percent = 60.0
  manual_percent = 40.0
  gain = 1.2
  integral_s = 20.0
  derivative_s = 0.5
  output_percent = [5.0, 95.0]
  [device.output]
  source = "manipulated"
  saturation_ma = [3.9, 20.8]
  failure_ma = 3.5
  converter_gain = 1.001
  converter_offset_ma = 0.02
  [device.process]
  model = "constant"
  value = 9.0

[[device]]
tag = "PT-2"
polling = 3
kind = "absolute"
sensor = { lower = 0.0, upper = 250.0, unit = "kPa" }
process = { model = "constant", value = 100.0 }
`

func TestWholeSignalPath(t *testing.T) {
	want := transmitter.Config{
		Grid:    100 * time.Millisecond,
		Process: process.Config{Model: process.Constant(9)},
		Sensor: transmitter.Sensor{Scale: transmitter.Scale{Lower: -50, Upper: 50, Unit: kPa}, MinimumSpan: 2.5, LowSide: 1.5,
			Temperature: transmitter.Temperature{ZeroPerK: 0.02, SpanPerK: 0.01}, AtC: 45},
		Characterisation: transmitter.Temperature{ZeroPerK: 0.015, SpanPerK: 0.01}, // of the span it knows all
		Trim:             transmitter.Trim{Gain: 1.01, Offset: -0.25},
		Range:            transmitter.Scale{Lower: 0, Upper: 25, Unit: kPa},
		Transfer:         transmitter.Transfer{Power: 0.5},
		Table:            []transmitter.Point{{X: 0, Y: 0}, {X: 50, Y: 30.5}, {X: 100, Y: 100}},
		UserUnit:         &transmitter.Scale{Lower: 0, Upper: 120, Unit: cubic},
		Totaliser:        &transmitter.Totaliser{Unit: cubicMetre},
		Controller: &transmitter.Controller{Mode: transmitter.Auto, Direct: true, SetPoint: 60, Manual: 40,
			Gain: 1.2, IntegralS: 20, DerivativeS: 0.5, Lower: 5, Upper: 95},
		Source: transmitter.ManipulatedVariable,
		Current: transmitter.Current{LowerMA: 3.9, UpperMA: 20.8, FailureMA: 3.5,
			Converter: transmitter.Converter{Gain: 1.001, Offset: 0.02}},
		Stages: []string{"sensor", "characterisation", "trim", "range", "damping", "transfer", "table", "user_unit",
			"totaliser", "controller", "output"},
	}
	d := parse(t, whole).Devices[0]
	if diff := cmp.Diff(want, d.Transmitter); diff != "" {
		t.Errorf("want -, got +:\n%s", diff)
	}
	if !d.WriteProtect || !d.MultidropCurrent || d.WriteTime != 150*sim.Millisecond || d.StoreTime != 20*sim.Millisecond || d.SaveEvery != 120*sim.Second {
		t.Errorf("got %+v, want write protection, current on a multidrop address, 150 ms to write, 20 ms to store and 2 minutes between savings", d)
	}
}

// one is a description of one device of a kind.
func one(kind, rest string) string {
	return `line = { name = "Bench" }
[[device]]
tag = "T-1"
polling = 1
kind = "` + kind + `"
sensor = { lower = 0, upper = 100, unit = "kPa", zero_per_k = 0.1, span_per_k_percent = 0.2 }
` + rest
}

func oneOf(t *testing.T, kind, rest string) device.Config {
	t.Helper()
	return parse(t, one(kind, rest)).Devices[0]
}

const still = "process = { model = \"constant\", value = 5 }\n"

func TestDefaultsOfTheTables(t *testing.T) {
	d := oneOf(t, "flow", still+`user_unit = { lower = 0, upper = 1, unit = "m³/h" }
trim = {}
totaliser = { unit = "m³" }
controller = { mode = "manual", output_percent = [10, 90] }
output = { source = "fixed", fixed_ma = 12 }
characterisation = {}`)
	c := d.Transmitter
	if want := (transmitter.Trim{Gain: 1}); c.Trim != want {
		t.Errorf("trim: got %+v, want %+v", c.Trim, want)
	}
	if want := (transmitter.Controller{Mode: transmitter.Manual, SetPoint: 50, Manual: 10, Gain: 1, Lower: 10, Upper: 90}); *c.Controller != want {
		t.Errorf("controller: got %+v, want %+v", *c.Controller, want)
	}
	if d.SaveEvery != 10*sim.Second {
		t.Errorf("totals are saved every %v, want 10s", d.SaveEvery.Duration())
	}
	want := transmitter.Current{Mode: transmitter.Fixed, HeldMA: 12, LowerMA: 3.8, UpperMA: 20.5, FailureMA: 21.5,
		Converter: transmitter.Converter{Gain: 1}}
	if c.Current != want || c.Source != transmitter.ProcessVariable {
		t.Errorf("output: got %+v of source %v, want %+v", c.Current, c.Source, want)
	}
	if c := oneOf(t, "flow", still+`controller = { mode = "off" }`).Transmitter.Controller; c.Lower != 0 || c.Upper != 100 {
		t.Errorf("controller: got limits of %v and %v %%, want 0 and 100", c.Lower, c.Upper)
	}
	// A sensor is characterised by what is true of it, unless told otherwise.
	if want := (transmitter.Temperature{ZeroPerK: 0.1, SpanPerK: 0.2}); c.Characterisation != want || c.Sensor.Temperature != want {
		t.Errorf("characterised by %+v, want %+v", c.Characterisation, want)
	}
	if plain := oneOf(t, "level", still).Transmitter; plain.Characterisation != plain.Sensor.Temperature {
		t.Errorf("without a table, characterised by %+v, want %+v", plain.Characterisation, plain.Sensor.Temperature)
	}
}

// A transmitter without a characterisation shows what the temperature does to its
// sensor: 5 kPa, 0.2 % more and 0.1 kPa higher for each of 10 kelvin.
func TestWithoutCharacterisationTheSensorDrifts(t *testing.T) {
	text := strings.Replace(one("gauge", still+`stages = ["sensor", "trim", "range", "output"]`), "zero_per_k", "at_c = 30, zero_per_k", 1)
	tr := assemble(t, parse(t, text), nil).Devices[0].Transmitter()
	if got, want := tr.Value(), 5*1.02+1; math.Abs(got-want) > 1e-12 {
		t.Errorf("got %v kPa, want %v", got, want)
	}
}

// Every kind measures what its name says, and pressure is another word for gauge.
func TestKinds(t *testing.T) {
	codes := map[uint16][]string{}
	for _, kind := range []string{"differential", "gauge", "absolute", "pressure", "level", "flow"} {
		d := oneOf(t, kind, still)
		codes[d.Type] = append(codes[d.Type], kind)
		if root := d.Transmitter.Transfer.Power == 0.5; root != (kind == "flow") {
			t.Errorf("%s: transfer function with the power %v", kind, d.Transmitter.Transfer.Power)
		}
	}
	if len(codes) != 5 || len(codes[0xf901]) != 2 {
		t.Errorf("kinds by type code: %v, want one each, and gauge and pressure the same", codes)
	}
}

func TestTablesForVessels(t *testing.T) {
	for text, want := range map[string]struct {
		points int
		vessel process.Shape
	}{
		`{ shape = "sphere", points = 5 }`: {5, process.Sphere},
		`{ shape = "lying cylinder" }`:     {16, process.LyingCylinder},
		`{ shape = "cone apex down" }`:     {16, process.ConeDown},
	} {
		d := parse(t, one("level", still+"table = "+text))
		if got, ok := d.Vessels["T-1"]; got != want.vessel || !ok {
			t.Errorf("%s: got a table for a %v, want %v", text, got, want.vessel)
		}
		if diff := cmp.Diff(transmitter.Strapping(want.vessel, want.points), d.Devices[0].Transmitter.Table); diff != "" {
			t.Errorf("%s: want -, got +:\n%s", text, diff)
		}
	}
	if d := parse(t, one("level", still+"table = { points = [[0, 0], [100, 50]] }")); len(d.Vessels) != 0 {
		t.Errorf("points that were given: got vessels %v, want none", d.Vessels)
	}
}
