package linefile_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"looptone/sim/linefile"
)

// wired is a description with all of the electricity, which tests spoil in one place.
const wired = `[line]
name = "Wires"
supply_v = 24.0
supply_ohm = 1.0
supply_ma = 100
resistor_ohm = 250
barrier_ohm = 0
series = [ { name = "indicator", ohm = 10 } ]
host_at = "resistor"
host_ohm = 100
host_v = 0.5
host_nf = 1.0
host_swapped = false

[[line.cable]]
name = "branch"
behind = "trunk"
length_m = 100
ohm_per_km = 36.0
nf_per_km = 80

[[line.cable]]
name = "trunk"
behind = ""
length_m = 600
awg = 18
nf_per_km = 110

[[line.cable]]
name = "end"
length_m = 50.5
ohm_per_km = 36.0
nf_per_km = 80

[[device]]
tag = "PT-1"
polling = 1
kind = "gauge"
behind = "branch"
lift_off_v = 10.5
input_nf = 5.0
amplitude_v = 0.4
sensor = { lower = 0.0, upper = 250.0, unit = "kPa" }
process = { model = "constant", value = 50.0 }

[[device]]
tag = "TT-2"
polling = 2
kind = "temperature"
behind = ""
lift_off_v = 12
capacitance_number = 2.6
reversed = true
sensor = { lower = -50.0, upper = 150.0, unit = "°C" }
process = { model = "constant", value = 20.0 }

[[device]]
tag = "RESISTOR"
polling = 3
kind = "temperature"
revision = 5
sensor = { lower = -50.0, upper = 150.0, unit = "°C" }
process = { model = "constant", value = 20.0 }
`

func TestImpossibleWires(t *testing.T) {
	refuses(t, wired, []struct{ name, old, new, want string }{
		{"no supply", "supply_v = 24.0", "supply_v = 0", `3:12: line.supply_v: got 0, want more than 0 and at most 1000`},
		{"supply the wrong way round", "supply_v = 24.0", "supply_v = -24", `3:12: line.supply_v: got -24, want more than 0 and at most 1000`},
		{"supply below a lift-off voltage", "supply_v = 24.0", "supply_v = 11",
			`3:12: 11 V are less than the lift-off voltage of TT-2, 12 V: want a supply of more`},
		{"supply that carries nothing", "supply_ma = 100", "supply_ma = 0", `5:13: line.supply_ma: got 0, want more than 0 and at most 100000`},
		{"impedance below nothing", "supply_ohm = 1.0", "supply_ohm = -1", `4:14: line.supply_ohm: got -1, want 0 to 1e+06`},
		{"resistor below nothing", "resistor_ohm = 250", "resistor_ohm = -250", `6:16: line.resistor_ohm: got -250, want 0 to 1e+06`},
		{"barrier below nothing", "barrier_ohm = 0", "barrier_ohm = -5", `7:15: line.barrier_ohm: got -5, want 0 to 1e+06`},
		{"instrument without a resistance", `name = "indicator", ohm = 10`, `name = "indicator"`,
			`8:12: the instrument has no ohm, want for instance ohm = 10`},
		{"instrument without a name", `name = "indicator", ohm = 10`, `ohm = 10`,
			`8:12: the instrument has no name, want for instance name = "indicator"`},
		{"instrument with an empty name", `name = "indicator", ohm = 10`, `name = "", ohm = 10`,
			`8:21: name "" is empty, want one such as "indicator"`},
		{"instrument below nothing", "ohm = 10 }", "ohm = -10 }", `8:40: ohm: got -10, want 0 to 1e+06`},
		{"host at a tag that is not there", `host_at = "resistor"`, `host_at = "PT-3"`,
			`9:11: host_at: nothing is called "PT-3": did you mean "PT-1"?`},
		{"host nowhere", `host_at = "resistor"`, `host_at = "junction box"`,
			`9:11: host_at: got "junction box", want one of resistor, supply, PT-1, TT-2, RESISTOR`},
		{"host without tones", "host_v = 0.5", "host_v = 0", `11:10: line.host_v: got 0, want 0.001 to 10`},
		{"host swapped by half", "host_swapped = false", "host_swapped = 0.5", `13:16: line.host_swapped: got 0.5, want true or false`},
		{"length below nothing", "length_m = 100", "length_m = -100", `18:12: length_m: got -100, want 0 to 100000`},
		{"length missing", "length_m = 100\n", "", `15:8: [[line.cable]] has no length_m, want for instance length_m = 600`},
		{"capacitance missing", "awg = 18\nnf_per_km = 110", "awg = 18", `22:8: [[line.cable]] has no nf_per_km, want for instance nf_per_km = 100`},
		{"gauge unknown", "awg = 18", "awg = 41", `26:7: awg: got 41, want a whole number from 0 to 40`},
		{"gauge and resistance", "awg = 18", "awg = 18\nohm_per_km = 21",
			`27:14: ohm_per_km and awg both say what the resistance of a core is: want one of the two`},
		{"neither gauge nor resistance", "awg = 18\n", "", `22:8: [[line.cable]] has none of ohm_per_km, awg, want for instance awg = 18`},
		{"resistance below nothing", "length_m = 100\nohm_per_km = 36.0", "length_m = 100\nohm_per_km = -36", `19:14: ohm_per_km: got -36, want 0 to 10000`},
		{"cable without a name", "name = \"branch\"\n", "", `15:8: [[line.cable]] has no name, want for instance name = "trunk"`},
		{"cable with an empty name", `name = "branch"`, `name = ""`, `16:8: name "" is empty, want one such as "trunk"`},
		{"cable twice", `name = "end"`, `name = "branch"`,
			`30:8: name "branch" is given twice, first in line 16: want one of its own for each cable`},
		{"cable behind one that is not there", `behind = "trunk"`, `behind = "trnk"`,
			`17:10: behind: no cable has the name "trnk": did you mean "trunk"?`},
		{"cable behind a device", `behind = "trunk"`, `behind = "PT-1"`,
			`17:10: behind: no cable has the name "PT-1", want one of branch, trunk, end`},
		{"cable behind itself", `behind = "trunk"`, `behind = "branch"`,
			`17:10: behind: cable "branch" is behind itself: branch behind branch; want one of them behind a cable that leads to the supply`},
		{"cables in a circle", "name = \"trunk\"\nbehind = \"\"", "name = \"trunk\"\nbehind = \"end\"",
			`24:10: behind: cable "trunk" is behind itself: trunk behind end behind trunk; want one of them behind a cable that leads to the supply`},
		{"device behind a cable that is not there", `behind = "branch"`, `behind = "brunch"`,
			`39:10: behind: no cable has the name "brunch": did you mean "branch"?`},
		{"device behind a device", `behind = "branch"`, `behind = "TT-2"`,
			`39:10: behind: no cable has the name "TT-2", want one of branch, trunk, end`},
		{"capacitance twice", "capacitance_number = 2.6", "capacitance_number = 2.6\ninput_nf = 13",
			`53:12: input_nf and capacitance_number both say what the input capacitance is: want one of the two`},
		{"capacitance below nothing", "input_nf = 5.0", "input_nf = -5", `41:12: input_nf: got -5, want 0 to 1e+06`},
		{"capacitance number below nothing", "capacitance_number = 2.6", "capacitance_number = -1", `52:22: capacitance_number: got -1, want 0 to 1000`},
		{"lift-off voltage of nothing", "lift_off_v = 10.5", "lift_off_v = 0", `40:14: lift_off_v: got 0, want more than 0 and at most 1000`},
		{"lift-off voltage above any supply", "lift_off_v = 10.5", "lift_off_v = 1001", `40:14: lift_off_v: got 1001, want more than 0 and at most 1000`},
		{"reversed in words", "reversed = true", `reversed = "yes"`, `53:12: reversed: got the string "yes", want true or false`},
		{"key misspelt", "lift_off_v = 10.5", "liftoff_v = 10.5", `40:1: unknown key "liftoff_v" in [[device]]: did you mean "lift_off_v"?`},
	})
}

func TestImpossibleWiresOfAnotherLine(t *testing.T) {
	refuses(t, good, []struct{ name, old, new, want string }{
		{"usual supply below a lift-off voltage", "polling = 1", "polling = 1\nlift_off_v = 30",
			`8:14: 24 V are less than the lift-off voltage of PT-1, 30 V: want a supply of more`},
		{"cable in single brackets", "[[fault]]", "[line.cable]\nname = \"trunk\"\n[[fault]]",
			`30:7: [line.cable] stands in single brackets, want [[line.cable]]: there may be several`},
		{"behind without a cable", "polling = 1", "polling = 1\nbehind = \"trunk\"",
			`8:10: behind: the line has no cable, want a [[line.cable]] with the name "trunk", or behind left out`},
	})
}

func TestMoreCablesThanALineMayHave(t *testing.T) {
	var text strings.Builder
	text.WriteString("[line]\nname = \"Crowd\"\n")
	for i := range 1001 {
		fmt.Fprintf(&text, "[[line.cable]]\nname = \"c%d\"\nlength_m = 1\nawg = 18\nnf_per_km = 100\n", i)
		if i == 999 {
			if _, err := linefile.Parse("crowd.toml", []byte(text.String()+onePT), nil); err != nil {
				t.Fatal(err)
			}
		}
	}
	_, err := linefile.Parse("crowd.toml", []byte(text.String()+onePT), nil)
	var refused *linefile.Error
	if want := "crowd.toml:5003:8: this is cable 1001, want at most 1000"; !errors.As(err, &refused) || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}

// onePT is a device and nothing else.
const onePT = `[[device]]
tag = "PT-1"
polling = 1
kind = "gauge"
sensor = { lower = 0.0, upper = 250.0, unit = "kPa" }
process = { model = "constant", value = 50.0 }
`
