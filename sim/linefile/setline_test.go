package linefile_test

import (
	"errors"
	"strings"
	"testing"

	"looptone/sim"
	"looptone/sim/linefile"
)

func TestSetTheLine(t *testing.T) {
	d := parse(t, wired)
	a := assemble(t, d, nil)
	did(t, d, a, `{"set": "line.barrier_ohm", "to": 280}`, "barrier_ohm of the line is 280 from now on")
	did(t, d, a, `{"set": "line.cable[1].length_m", "to": 900}`, "cable[1].length_m of the line is 900 from now on")
	did(t, d, a, `{"set": "line.series", "to": [{"name": "recorder", "ohm": 25}]}`, "series of the line is as given from now on")
	did(t, d, a, `{"set": "PT-1.behind", "to": "end"}`, `behind of PT-1 is "end" from now on`)
	did(t, d, a, `{"set": "line.host_at", "to": "RESISTOR"}`, `host_at of the line is "RESISTOR" from now on`)
	did(t, d, a, `{"set": "RESISTOR.input_nf", "to": 5}`, `input_nf of RESISTOR is 5 from now on`)
	did(t, d, a, `{"set": "line.supply_v", "to": 3}`, `supply_v of the line is 3 from now on`)
	did(t, d, a, `{"time": 5, "set": "line.resistor_ohm", "to": 0}`, `resistor_ohm of the line is 0 from 5 s on`)
}

func TestRefusalsOfSettingTheLine(t *testing.T) {
	d := parse(t, wired)
	a := assemble(t, d, nil)
	for _, c := range []struct{ action, want string }{
		{`{"set": "line.supply_v", "to": 0}`, `1:32: line.supply_v: got 0, want more than 0 and at most 1000`},
		{`{"set": "line.supply_v", "to": "24"}`, `1:32: line.supply_v: got the string "24", want a number`},
		{`{"set": "line.resistor_ohm", "to": -1}`, `1:36: line.resistor_ohm: got -1, want 0 to 1e+06`},
		{`{"set": "line.barrier_ohm", "to": -1}`, `1:35: line.barrier_ohm: got -1, want 0 to 1e+06`},
		{`{"set": "line.host_swapped", "to": 1}`, `1:36: line.host_swapped: got 1, want true or false`},
		{`{"set": "line.host_at", "to": "LT-9"}`, `1:31: host_at: got "LT-9", want one of resistor, supply, PT-1, TT-2, RESISTOR`},
		{`{"set": "line.host_at", "to": "resister"}`, `1:31: host_at: nothing is called "resister": did you mean "resistor"?`},
		{`{"set": "line.suply_v", "to": 24}`, `1:9: unknown key "suply_v" in [line]: did you mean "supply_v"?`},
		{`{"set": "line.name", "to": "Other"}`, `1:9: name of the line cannot be set: it makes the line`},
		{`{"set": "line.grid_ms", "to": 10}`, `1:9: grid_ms of the line cannot be set: it makes the line`},
		{`{"set": "line", "to": {}}`, `1:9: set: got the string "line", want a key of the line behind a point, for instance line.supply_v`},
		{`{"set": "lines.supply_v", "to": 24}`, `1:9: device "lines" is not on the line, want one of PT-1, TT-2, RESISTOR, or line`},
		{`{"set": "line.cable[3].length_m", "to": 1}`, `1:9: cable[3] is not there, want cable[0] to cable[2]`},
		{`{"set": "line.cable[1].name", "to": "stem"}`, `1:37: behind: no cable has the name "trunk", want one of branch, stem, end`},
		{`{"set": "line.cable", "to": []}`, `1:29: behind: the line has no cable, want a [[line.cable]] with the name "branch", or behind left out`},
		{`{"set": "line.cable[1].behind", "to": "end"}`, `1:39: behind: cable "trunk" is behind itself: trunk behind end behind trunk; want one of them behind a cable that leads to the supply`},
		{`{"set": "PT-1.behind", "to": "ends"}`, `1:30: behind: no cable has the name "ends": did you mean "end"?`},
		{`{"set": "PT-1.lift_off_v", "to": 0}`, `1:34: lift_off_v: got 0, want more than 0 and at most 1000`},
		{`{"set": "TT-2.input_nf", "to": 5}`, `1:32: input_nf and capacitance_number both say what the input capacitance is: want one of the two`},
		{`{"time": 9, "set": "line.host_at", "to": "LT-9"}`, `1:42: host_at: got "LT-9", want one of resistor, supply, PT-1, TT-2, RESISTOR`},
	} {
		x, err := d.ReadAction("control", 1, []byte(c.action))
		if err == nil {
			_, err = a.Do(x)
		}
		var refused *linefile.Error
		if !errors.As(err, &refused) || err.Error() != "control:"+c.want {
			t.Errorf("%s\ngot  %v\nwant control:%s", c.action, err, c.want)
		}
	}
	refuses(t, wired+"\n[[at]]\ntime = 3\nset = \"line.supply_v\"\nto = 20\n", []struct{ name, old, new, want string }{
		{"supply", "to = 20", "to = -20", `68:6: line.supply_v: got -20, want more than 0 and at most 1000`},
	})
}

// What is set of the line counts for what is done later.
func TestSetOfTheLineIsForeseen(t *testing.T) {
	text := crowd("supply_v = 24", 1, "") + `
[[at]]
time = 1
set = "line.cable"
to = [ { name = "new", length_m = 10, awg = 18, nf_per_km = 100 } ]

[[at]]
time = 2
set = "T-1.behind"
to = "new"
`
	a := assemble(t, parse(t, text), nil)
	reports := reported(a)
	a.Line.Run(3 * sim.Second)
	wantReports(t, reports, "1 cable of the line is as given from now on", `2 behind of T-1 is "new" from now on`)
	refuses(t, text, []struct{ name, old, new, want string }{
		{"too early", "time = 2", "time = 0.5", `21:6: behind: the line has no cable, want a [[line.cable]] with the name "new", or behind left out`},
	})
}

// A tag of upper-case letters is not the line.
func TestDeviceTaggedLine(t *testing.T) {
	d := parse(t, strings.ReplaceAll(wired, `"TT-2"`, `"LINE"`))
	a := assemble(t, d, nil)
	did(t, d, a, `{"set": "LINE.lift_off_v", "to": 9}`, "lift_off_v of LINE is 9 from now on")
	did(t, d, a, `{"set": "line.supply_v", "to": 9}`, "supply_v of the line is 9 from now on")
	a.Line.Run(sim.Second)
}
