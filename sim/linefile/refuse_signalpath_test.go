package linefile_test

import (
	"strings"
	"testing"

	"looptone/sim/linefile"
)

// The refusals of whole.
func TestSignalPathRefusals(t *testing.T) {
	refuses(t, whole, []struct{ name, old, new, want string }{
		{"absolute pressure below a vacuum", "lower = 0.0, upper = 250.0", "lower = -10.0, upper = 250.0",
			`65:20: sensor.lower: got -10 kPa, want 0 kPa or more: nothing is below a vacuum`},
		{"store time past the slave time-out", "store_ms = 20", "store_ms = 257", `3:12: line.store_ms: got 257, want 0 to 256`},
		{"store time below nothing", "store_ms = 20", "store_ms = -1", `3:12: line.store_ms: got -1, want 0 to 256`},
		{"current on a multidrop address in revision 7", "revision = 5", "revision = 7",
			`10:21: multidrop_current is for revision 5: in revision 7 the loop current mode alone decides, ` +
				`want loop_current_mode = "modulated" instead`},
		{"stage misspelt", `"damping", `, `"dampning", `, `13:58: stage "dampning" is unknown: did you mean "damping"?`},
		{"stage that is none", `"damping", `, `"magic", `,
			`13:58: stage "magic" is unknown, want one of sensor, characterisation, damping, trim, range, transfer, table, ` +
				`user_unit, totaliser, controller, output`},
		{"stage that is no word", `"damping", `, `7, `,
			`13:58: stages: got 7, want the name of a stage in quotes, one of sensor, characterisation, damping, trim, range, ` +
				`transfer, table, user_unit, totaliser, controller, output`},
		{"stages that are no list", `stages = ["sensor", "characterisation", "trim", "range", "damping", "transfer", ` +
			`"table", "user_unit", "totaliser", "controller", "output"]`, `stages = "sensor"`,
			`13:10: stages: got the string "sensor", want a list, for instance ["sensor", "range", "output"]`},
		{"no stages", `["sensor", "characterisation", "trim", "range", "damping", "transfer", ` +
			`"table", "user_unit", "totaliser", "controller", "output"]`, `[]`,
			`13:10: stages: got a list without "sensor", want one with it: no path is without`},
		{"stage twice", `"damping", `, `"damping", "trim", `,
			`13:69: stages[5]: got "trim", want every stage once: it is stages[2] already`},
		{"stage out of place", `"trim", "range", "damping", `, `"range", "damping", "trim", `,
			`13:61: stages[4]: got "trim", want it before "range": it works in the sensor's unit`},
		{"stage with settings left out", `"table", `, ``,
			`13:10: stages: got a list without "table", want one with it, as it has settings, or none of those`},
		{"range outside the sensor's limits", "upper = 25.0", "upper = 55.0",
			`30:11: range.upper: got 55 kPa, want -50 to 50 kPa, the sensor's limits`},
		{"span under the minimum", "upper = 25.0", "upper = 2.0",
			`30:11: range.upper: got 2 kPa, want a span of at least 2.5 kPa: it is 2 kPa from range.lower, 0 kPa`},
		{"minimum span beyond the limits", "minimum_span = 2.5", "minimum_span = 101.0",
			`18:18: sensor.minimum_span: got 101 kPa, want up to 100 kPa, which is from one limit to the other`},
		{"colder than can be", "at_c = 45.0", "at_c = -300.0", `20:10: sensor.at_c: got -300 °C, want -273.15 °C or more`},
		{"temperature that is none", "at_c = 45.0", "at_c = nan", `20:10: sensor.at_c: got nan, want a number`},
		{"trim that is none", "gain = 1.01", "gain = 0", `26:10: trim.gain: got 0, want more than 0 and at most 10`},
		{"points that are a word", "points = [[0, 0], [50, 30.5], [100, 100]]", `points = "many"`,
			`34:12: table.points: got the string "many", want a list of 2 to 32, for instance [[0, 0], [50, 30], [100, 100]]`},
		{"point of one number", "[50, 30.5]", "[50]",
			`34:12: table.points[1]: got no point, want two numbers, for instance [50, 30]`},
		{"how many points, of what", "points = [[0, 0], [50, 30.5], [100, 100]]", "points = 16",
			`34:12: points stands without a shape, want both`},
		{"points beside a shape", "points = [[0, 0], [50, 30.5], [100, 100]]", `points = [[0, 0], [100, 100]]` + "\nshape = \"sphere\"",
			`34:12: points are listed beside a shape, want the points, or the shape and how many`},
		{"points beyond counting", "points = [[0, 0], [50, 30.5], [100, 100]]", `points = 33` + "\nshape = \"sphere\"",
			`34:12: table.points: got 33, want a whole number from 2 to 32`},
		{"table of no points", "[[0, 0], [50, 30.5], [100, 100]]", "[]",
			`34:12: table.points: got 0 points, want 2 to 32`},
		{"table of one point", "[[0, 0], [50, 30.5], [100, 100]]", "[[0, 0]]",
			`34:12: table.points: got 1 point, want 2 to 32`},
		{"table of 33 points", "[[0, 0], [50, 30.5], [100, 100]]", "[" + strings.Repeat("[1, 1], ", 33) + "]",
			`34:12: table.points: got 33 points, want 2 to 32`},
		{"table that does not rise", "[50, 30.5]", "[50, 30.5], [50, 40]",
			`34:12: table.points[2]: got 50 % after 50 %, want inputs that rise from point to point`},
		{"point that is none", "[50, 30.5]", "[nan, 30.5]",
			`34:12: table.points[1]: got no point, want two numbers, for instance [50, 30]`},
		{"shape misspelt", "points = [[0, 0], [50, 30.5], [100, 100]]", `shape = "spere"`,
			`34:11: shape "spere" is unknown: did you mean "sphere"?`},
		{"table of nothing", "points = [[0, 0], [50, 30.5], [100, 100]]", "",
			`33:11: [device.table] has no points, want for instance points = [[0, 0], [50, 30], [100, 100]]`},
		{"total of a pressure", `unit = "m³"`, `unit = "bar"`,
			`40:10: totaliser.unit: got bar, want a unit of volume for a volume flow in m³/h, for instance m³`},
		{"total of a mass", `unit = "m³"`, `unit = "kg"`,
			`40:10: totaliser.unit: got kg, want a unit of volume for a volume flow in m³/h, for instance m³`},
		{"total without a unit", `unit = "m³"`, "", `39:11: [device.totaliser] has no unit, want for instance unit = "m³"`},
		{"total of what", `unit = "m³"`, `unit = "cask"`,
			`40:10: unit "cask" is unknown, want for instance "m³/h", "m³" or "%"`},
		{"saved too often", `"2m"`, `"10ms"`, `41:16: totaliser.save_every: got the string "10ms", want 100ms to 1h0m0s, for instance "10s"`},
		{"saved every what", `"2m"`, `2`, `41:16: totaliser.save_every: got 2, want 100ms to 1h0m0s, for instance "10s"`},
		{"controller without a mode", `mode = "auto"`, "",
			`42:11: [device.controller] has no mode, want for instance mode = "auto"`},
		{"controller's mode", `mode = "auto"`, `mode = "cascade"`, `43:10: mode "cascade" is unknown, want one of off, manual, auto`},
		{"gain that is none", "gain = 1.2", "gain = nan", `47:10: controller.gain: got nan, want a number`},
		{"limits upside down", "[5.0, 95.0]", "[95.0, 5.0]",
			`50:20: controller.output_percent: got 95 to 5, want a lower limit, then an upper one`},
		{"limits of nothing", "[5.0, 95.0]", "[0, 0]",
			`50:20: controller.output_percent: got 0 to 0, want a lower limit, then an upper one`},
		{"gain below nothing", "gain = 1.2", "gain = -1.2", `47:10: controller.gain: got -1.2, want more than 0`},
		{"begins beyond the limits", "manual_percent = 40.0", "manual_percent = 96.0",
			`46:20: controller.manual_percent: got 96, want 5 to 95`},
		{"one limit", "[5.0, 95.0]", "95.0",
			`50:20: controller.output_percent: got 95.0, want two numbers, for instance [0, 100]`},
		{"source", `"manipulated"`, `"manual"`, `52:12: source "manual" is unknown, want one of pv, manipulated, fixed`},
		{"fixed at what", `"manipulated"`, `"fixed"`,
			`51:11: [device.output] with source "fixed" has no fixed_ma, want for instance fixed_ma = 12.0`},
		{"fixed and following", `source = "manipulated"`, `source = "pv"` + "\nfixed_ma = 12",
			`53:1: unknown key "fixed_ma" in [device.output] with source "pv": known are converter_gain, ` +
				`converter_offset_ma, failure_ma, saturation_ma, source`},
	})
}

// It is the kind that brings the root, so the list of stages alone cannot say why
// it is missed.
func TestFlowWithoutItsRoot(t *testing.T) {
	const text = `[line]
name = "Bench"
[[device]]
tag = "FT-1"
polling = 1
kind = "flow"
stages = ["sensor", "range", "output"]
sensor = { lower = 0.0, upper = 50.0, unit = "kPa" }
process = { model = "constant", value = 12.5 }
`
	_, err := linefile.Parse("bench.toml", []byte(text), nil)
	const want = `bench.toml:7:10: stages: got a list without "transfer", want one with it, as a flow takes the root, ` +
		`or transfer = { power = "linear" }`
	if err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
	d, err := linefile.Parse("bench.toml", []byte(text+"transfer = { power = \"linear\" }\n"), nil)
	if err != nil {
		t.Fatal(err)
	}
	a, err := d.Assemble(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if out, ok := a.Devices[0].Transmitter().Output("range"); !ok || out.Value != 25 {
		t.Errorf("got %v, %v, want 25 %%", out, ok)
	}
}
