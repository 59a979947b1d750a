package linefile_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"looptone/sim/linefile"
)

// good is a description that each test spoils in one place.
const good = `[line]
name = "Bench"
seed = 7

[[device]]
tag = "PT-1"
polling = 1
kind = "pressure"
sensor = { lower = 0.0, upper = 250.0, unit = "kPa" }
process = { model = "constant", value = 50.0 }

[[device]]
tag = "TT-2"
polling = 2
kind = "temperature"
revision = 5
  [device.sensor]
  lower = -50.0
  upper = 150.0
  unit = "°C"
  [device.range]
  lower = 0.0
  upper = 50.0
  [device.process]
  model = "sine"
  low = 11.0
  high = 14.0
  period_s = 300

[[fault]]
device = "TT-2"
kind = "late reply"
delay_chars = 30
`

func TestGoodIsGood(t *testing.T) {
	if _, err := linefile.Parse("bench.toml", []byte(good), nil); err != nil {
		t.Fatal(err)
	}
}

func TestRefusals(t *testing.T) {
	tests := []struct{ name, old, new, want string }{
		{"key misspelt", "polling = 1", "poling = 1",
			`7:1: unknown key "poling" in [[device]]: did you mean "polling"?`},
		{"table misspelt", "[device.process]", "[device.proces]",
			`24:11: unknown key "proces" in [[device]]: did you mean "process"?`},
		{"key that is not built", "seed = 7", "inductance_uh = 5",
			`3:1: unknown key "inductance_uh" in [line]: known are barrier_ohm, cable, grid_ms, host_at, host_nf, host_ohm, ` +
				`host_swapped, host_v, name, resistor_ohm, seed, series, store_ms, supply_ma, supply_ohm, supply_v`},
		{"table that is not built", "[[fault]]", "[[cable]]\nname = \"trunk\"\n[[fault]]",
			`30:3: unknown key "cable" in the top level of the file: known are at, device, fault, line, master`},
		{"key of another model", "low = 11.0", "low = 11.0\n  from = 3",
			`27:3: unknown key "from" in [device.process] of model "sine": known are fails_at_s, high, low, model, noise, period_s`},
		{"key of another fault", `"late reply"`, `"no reply"`,
			`33:1: unknown key "delay_chars" in [[fault]] of kind "no reply": known are count, device, from, kind, name, probability, talker, until`},
		{"unit in the wrong case", `"kPa"`, `"kpa"`,
			`9:47: unit "kpa" is unknown: did you mean "kPa"?`},
		{"unit that is none", `"°C"`, `"warm"`,
			`20:10: unit "warm" is unknown, want one of temperature: °C, °F, °R, K`},
		{"unit of another quantity", `"°C"`, `"bar"`,
			`20:10: unit "bar" measures pressure, want one of temperature: °C, °F, °R, K`},
		{"unit of nothing", "[[fault]]", "[device.user_unit]\nlower = 0\nupper = 1\nunit = \"none\"\n[[fault]]",
			`33:8: unit "none" measures nothing, want for instance "m³/h", "m³" or "%"`},
		{"user unit that is none", "[[fault]]", "[device.user_unit]\nlower = 0\nupper = 1\nunit = \"furlong\"\n[[fault]]",
			`33:8: unit "furlong" is unknown, want for instance "m³/h", "m³" or "%"`},
		{"tag too long", `"PT-1"`, `"PT-1-EAST"`,
			`6:7: tag "PT-1-EAST" has 9 characters, at most 8`},
		{"tag in lower case", `"PT-1"`, `"Pt-1"`,
			`6:7: tag "Pt-1" has the character 't' at place 2: packed ASCII holds upper-case letters, digits and ` +
				"blank !\"#$%&'()*+,-./:;<=>?@[\\]^_"},
		{"tag twice", `tag = "TT-2"`, `tag = "PT-1"`,
			`13:7: tag "PT-1" is given twice, first in line 6: want one of its own for each device`},
		{"tag empty", `"PT-1"`, `""`, `6:7: tag "" is empty, want 1 to 8 characters`},
		{"tag missing", "tag = \"PT-1\"\n", "", `5:3: [[device]] has no tag, want for instance tag = "PT-101"`},
		{"polling address too high", "polling = 1", "polling = 64",
			`7:11: polling: got 64, want a whole number from 0 to 63`},
		{"polling address too high for revision 5", "polling = 2", "polling = 20",
			`14:11: polling: got 20, want 0 to 15, as revision 5 has them`},
		{"polling address as a string", "polling = 1", `polling = "1"`,
			`7:11: polling: got the string "1", want a whole number from 0 to 63`},
		{"polling address with a fraction", "polling = 1", "polling = 1.0",
			`7:11: polling: got 1.0, want a whole number from 0 to 63`},
		{"polling address missing", "polling = 1\n", "", `5:3: [[device]] has no polling, want for instance polling = 1`},
		{"polling address twice", "polling = 2", "polling = 1",
			`14:11: polling address 1 is that of "PT-1" (line 5): want another one, or allow_duplicate = true`},
		{"unique address twice", "polling = 2", "polling = 2\ndevice_type = 1\ndevice_id = 101",
			`16:13: device_id 101 makes the same unique address, 3901000065, as "PT-1" (line 5) has: want another one`},
		{"unique address is the broadcast one", "polling = 1", "polling = 1\ndevice_type = 0\ndevice_id = 0",
			`9:13: device_id: got 0, want another one: with this device_type it makes the broadcast address`},
		{"revision 4", "revision = 5", "revision = 4", `16:12: revision: got 4, want a whole number from 5 to 7`},
		{"loop current mode in revision 5", "revision = 5", "revision = 5\nloop_current_mode = \"fixed\"",
			`17:21: revision 5 has no loop current mode: the polling address decides, 0 lets the current follow, ` +
				`1 to 15 park it at 4 mA; leave it out, or raise the revision`},
		{"loop current mode unknown", "polling = 1", "polling = 1\nloop_current_mode = \"parked\"",
			`8:21: loop_current_mode "parked" is unknown, want one of fixed, modulated`},
		{"long tag in revision 5", "revision = 5", "revision = 5\nlong_tag = \"Outlet\"",
			`17:12: revision 5 has no long tag: leave it out, or raise the revision`},
		{"probability", "delay_chars = 30", "delay_chars = 30\nprobability = 1.5",
			`34:15: probability: got 1.5, want 0 to 1`},
		{"fault on nobody", `device = "TT-2"`, `device = "TT-3"`,
			`31:10: device "TT-3" is not on the line, want one of PT-1, TT-2`},
		{"fault unknown", `"late reply"`, `"lte reply"`, `32:8: kind "lte reply" is unknown: did you mean "late reply"?`},
		{"fault without delay", "delay_chars = 30", "",
			`30:3: [[fault]] of kind "late reply" has no delay_chars, want for instance delay_chars = 30`},
		{"delay of nothing", "delay_chars = 30", "delay_chars = 0",
			`33:15: delay_chars: got 0, want 0.01 to 330`},
		{"latency beyond the slave time-out", "polling = 1", "polling = 1\nlatency_ms = 300",
			`8:14: latency_ms: got 300, want 4.166666, which the carrier needs to come up, to 256.666666, ` +
				`the slave time-out: a device is later only by a fault`},
		{"latency of eleven days", "polling = 1", "polling = 1\nlatency_ms = 1e9",
			`8:14: latency_ms: got 1e+09, want 4.166666, which the carrier needs to come up, to 256.666666, ` +
				`the slave time-out: a device is later only by a fault`},
		{"period below nothing", "period_s = 300", "period_s = -5",
			`28:14: process.period_s: got -5, want 0 to 1e+09`},
		{"period of sixty years", "period_s = 300", "period_s = 2e9",
			`28:14: process.period_s: got 2e9, want 0 to 1e+09`},
		{"number in a table that is none", "low = 11.0", "low = nan", `26:9: process.low: got nan, want a number`},
		{"kind unknown", `"pressure"`, `"guage"`, `8:8: kind "guage" is unknown: did you mean "gauge"?`},
		{"kind like no other", `"pressure"`, `"weight"`,
			`8:8: kind "weight" is unknown, want one of differential, gauge, absolute, level, flow, temperature`},
		{"kind missing", `kind = "pressure"` + "\n", "", `5:3: [[device]] has no kind, want for instance kind = "gauge"`},
		{"sensor missing", "sensor = { lower = 0.0, upper = 250.0, unit = \"kPa\" }\n", "",
			`5:3: [[device]] has no sensor, want for instance sensor = { lower = 0.0, upper = 100.0, unit = "kPa" }`},
		{"sensor is a number", "sensor = { lower = 0.0, upper = 250.0, unit = \"kPa\" }", "sensor = 250",
			`9:10: sensor: got 250, want a table`},
		{"span of nothing", "upper = 50.0", "upper = 0.0",
			`23:11: range.upper: got 0 °C, want another value than range.lower`},
		{"range beyond the sensor", "upper = 50.0", "upper = 200.0",
			`23:11: range.upper: got 200 °C, want -50 to 150 °C, the sensor's limits`},
		{"sensor upside down", "lower = -50.0", "lower = 350.0",
			`19:11: sensor.upper: got 150 °C, want more than sensor.lower, 350 °C`},
		{"period too short", "period_s = 300", "period_s = 0.3",
			`28:14: process.period_s: got 0.3, want 0.4 or more: four grid points, which are grid_ms apart`},
		{"model unknown", `"sine"`, `"sinus"`, `25:11: model "sinus" is unknown: did you mean "sine"?`},
		{"model missing", `model = "sine"`, "", `24:11: [device.process] has no model, want for instance model = "sine"`},
		{"noise below nothing", "value = 50.0", "value = 50.0, noise = -1",
			`10:55: process.noise: got -1, want 0 or more`},
		{"damping below nothing", "polling = 1", "polling = 1\ndamping_s = -1", `8:13: damping_s: got -1, want 0 or more`},
		{"number that is none", "polling = 1", "polling = 1\ndamping_s = nan", `8:13: damping_s: got nan, want a number`},
		{"transfer function", "[[fault]]", "[device.transfer]\npower = \"2/3\"\n[[fault]]",
			`31:9: transfer.power: got the string "2/3", want "linear", "1/2", "3/2", "5/2" or a number above 0`},
		{"cut-off", "[[fault]]", "[device.transfer]\ncut_off_percent = 101\n[[fault]]",
			`31:19: transfer.cut_off_percent: got 101, want 0 to 100`},
		{"saturation", "[[fault]]", "[device.output]\nsaturation_ma = [3.8, 19]\n[[fault]]",
			`31:17: output.saturation_ma: got 3.8 to 19 mA, want a lower limit up to 4 mA and an upper one from 20 mA on`},
		{"saturation of one number", "[[fault]]", "[device.output]\nsaturation_ma = [3.8]\n[[fault]]",
			`31:17: output.saturation_ma: got an array, want two numbers, for instance [3.8, 20.5]`},
		{"saturation of nothing", "[[fault]]", "[device.output]\nsaturation_ma = [0, 20.5]\n[[fault]]",
			`31:17: output.saturation_ma: got 0 to 20.5 mA, want limits from 3 to 25 mA, for instance [3.8, 20.5]`},
		{"saturation beyond two wires", "[[fault]]", "[device.output]\nsaturation_ma = [3.8, 90]\n[[fault]]",
			`31:17: output.saturation_ma: got 3.8 to 90 mA, want limits from 3 to 25 mA, for instance [3.8, 20.5]`},
		{"failure current beyond two wires", "[[fault]]", "[device.output]\nfailure_ma = 90\n[[fault]]",
			`31:14: output.failure_ma: got 90, want 3 to 25`},
		{"fixed beyond two wires", "[[fault]]", "[device.output]\nsource = \"fixed\"\nfixed_ma = 95\n[[fault]]",
			`32:12: output.fixed_ma: got 95, want 3 to 25`},
		{"failure current", "[[fault]]", "[device.output]\nfailure_ma = 12\n[[fault]]",
			`31:14: output.failure_ma: got 12 mA, want less than 3.8 or more than 20.5 mA, the saturation limits`},
		{"maker too high for revision 5", "revision = 5", "revision = 5\nmaker = 300",
			`17:9: maker: got 300, want a whole number from 0 to 255`},
		{"preambles", "polling = 1", "polling = 1\npreambles = 4", `8:13: preambles: got 4, want a whole number from 5 to 20`},
		{"date", "polling = 1", "polling = 1\ndate = \"3/1/2031\"",
			`8:8: date "3/1/2031" is not a day: got "3/1/2031", want yyyy-mm-dd`},
		{"amplitude", "polling = 1", "polling = 1\namplitude_v = 0", `8:15: amplitude_v: got 0, want 0.001 to 10`},
		{"clock", "polling = 1", "polling = 1\nclock_ppm = 10001", `8:13: clock_ppm: got 10001, want a whole number from -10000 to 10000`},
		{"truth", "polling = 1", "polling = 1\nallow_duplicate = 1", `8:19: allow_duplicate: got 1, want true or false`},
		{"supply", "seed = 7", "supply_v = 0", `3:12: line.supply_v: got 0, want more than 0 and at most 1000`},
		{"seed", "seed = 7", "seed = -7", `3:8: line.seed: got -7, want a whole number from 0 to 9223372036854775807`},
		{"grid", "seed = 7", "grid_ms = 5", `3:11: line.grid_ms: got 5, want 10 to 1000`},
		{"line without a name", `name = "Bench"`, "", `1:2: [line] has no name, want for instance name = "Quillmere"`},
		{"one device in single brackets", good[strings.Index(good, "[[device]]"):], "[device]\ntag = \"PT-1\"",
			`5:2: [device] stands in single brackets, want [[device]]: there may be several`},
		{"devices that are none", good[strings.Index(good, "[[device]]"):], "[[fault]]",
			`5:3: [[fault]] has no kind, want for instance kind = "late reply"`},
		{"no device", good[strings.Index(good, "[[device]]"):], "", `1:2: the line has no device, want at least one [[device]]`},
		{"numbers for devices", good, "device = [1]", `1:11: this is no table, want tables under [[device]]`},
		{"no line", "[line]\nname = \"Bench\"\nseed = 7\n", "", `1:1: the top level of the file has no line, want for instance line = { name = "Quillmere" }`},
		{"empty", good, "# nothing yet\n", `1:1: the file is empty, want a [line] with its name and a [[device]] for each device`},
		{"syntax", `name = "Bench"`, `name = "Bench`, `2:14: this is no TOML: basic strings cannot have new lines`},
		{"key twice", "polling = 1", "polling = 1\npolling = 2", `8:1: this is no TOML: key polling is already defined`},
	}
	refuses(t, good, tests)
}

// refuses spoils a good description in one place after the other, and wants the
// whole sentence each time.
func refuses(t *testing.T, good string, tests []struct{ name, old, new, want string }) {
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if n := strings.Count(good, tt.old); n != 1 {
				t.Fatalf("%q stands %d times in the good description, want once", tt.old, n)
			}
			_, err := linefile.Parse("bench.toml", []byte(strings.Replace(good, tt.old, tt.new, 1)), shelf)
			var refused *linefile.Error
			if !errors.As(err, &refused) {
				t.Fatalf("got error %v, want an Error: %s", err, tt.want)
			}
			if got, want := err.Error(), "bench.toml:"+tt.want; got != want {
				t.Errorf("got  %s\nwant %s", got, want)
			}
		})
	}
}

func TestMoreDevicesThanAddresses(t *testing.T) {
	text := "[line]\nname = \"Crowd\"\n"
	for i := range 65 {
		text += fmt.Sprintf(`[[device]]
tag = "PT-%d"
polling = %d
kind = "pressure"
sensor = { lower = 0.0, upper = 1.0, unit = "bar" }
process = { model = "constant", value = 0.5 }
allow_duplicate = true
`, i, i%64)
		_, err := linefile.Parse("crowd.toml", []byte(text), nil)
		if i < 64 && err != nil {
			t.Fatalf("%d devices: %v", i+1, err)
		}
		if want := "crowd.toml:451:3: this is device 65, want at most 64 on a line"; i == 64 && (err == nil || err.Error() != want) {
			t.Errorf("got  %v\nwant %s", err, want)
		}
	}
}
