package linefile_test

import (
	"errors"
	"strings"
	"testing"

	"looptone/sim/linefile"
)

// lively is a description of a line on which something happens; each test spoils it
// in one place.
const lively = `[line]
name = "Lively"

[[device]]
tag = "PT-1"
polling = 1
kind = "gauge"
sensor = { lower = 0.0, upper = 10.0, unit = "bar" }
process = { model = "constant", value = 5.0 }
  [[device.burst]]
  command = 3
  every = "1s"

[[device]]
tag = "TT-2"
polling = 2
kind = "temperature"
revision = 5
sensor = { lower = 0.0, upper = 100.0, unit = "°C" }
process = { model = "sine", low = 11.0, high = 14.0, period_s = 300 }

[[master]]
kind = "primary"
poll = [ { device = "TT-2", command = 3, every = "2s" } ]

[[fault]]
kind = "no reply"
device = "TT-2"
name = "asleep"
from = "12s"
until = "20s"

[[fault]]
kind = "line cut"
behind = "PT-1"

[[at]]
time = "30s"
set = "TT-2.damping_s"
to = 2.0

[[at]]
time = "14s"
mute = "TT-2"
`

func TestLivelyIsGood(t *testing.T) { parse(t, lively) }

func TestRefusalsOfFaults(t *testing.T) {
	refuses(t, lively, []struct{ name, old, new, want string }{
		{"kind near", `"no reply"`, `"no repply"`, `27:8: kind "no repply" is unknown: did you mean "no reply"?`},
		{"probability above 1", `name = "asleep"`, `probability = 1.01`, `29:15: probability: got 1.01, want 0 to 1`},
		{"probability below 0", `name = "asleep"`, `probability = -0.1`, `29:15: probability: got -0.1, want 0 to 1`},
		{"device that is not there", `device = "TT-2"` + "\nname", `device = "TT-3"` + "\nname",
			`28:10: device "TT-3" is not on the line, want one of PT-1, TT-2`},
		{"device missing", `device = "TT-2"` + "\nname", `name`,
			`26:3: [[fault]] of kind "no reply" has no device, want for instance device = "PT-101"`},
		{"talker for a device's fault", `device = "TT-2"` + "\nname", "device = \"TT-2\"\ntalker = \"host\"\nname",
			`29:10: talker: got "host", want none: "no reply" strikes a device, which device names`},
		{"talker that is nobody", "kind = \"no reply\"\ndevice = \"TT-2\"", "kind = \"bit errors\"\ntalker = \"hosts\"",
			`28:10: talker: got "hosts", want one of "primary master", "secondary master" and "host", or the tag of a device`},
		{"device for the whole line", `behind = "PT-1"`, "behind = \"PT-1\"\ndevice = \"TT-2\"",
			`36:10: device: got "TT-2", want none: "line cut" strikes the whole line`},
		{"cut behind nobody", `behind = "PT-1"`, `behind = "PT-9"`,
			`35:10: behind "PT-9" is not on the line, want one of PT-1, TT-2`},
		{"shared with nobody", "kind = \"line cut\"\nbehind = \"PT-1\"\n", "kind = \"shared address\"\ndevice = \"TT-2\"\n",
			`33:3: [[fault]] of kind "shared address" has no with, want for instance with = "PT-101"`},
		{"chance of what lasts", `behind = "PT-1"`, "behind = \"PT-1\"\nprobability = 0.5",
			`36:15: probability: got 0.5, want 1: "line cut" lasts and has no chance`},
		{"setting of another kind", `name = "asleep"`, `delay_chars = 30`,
			`29:1: unknown key "delay_chars" in [[fault]] of kind "no reply": known are count, device, from, kind, name, probability, talker, until`},
		{"setting near", "kind = \"no reply\"\n", "kind = \"late reply\"\ndelay_char = 30\n",
			`28:1: unknown key "delay_char" in [[fault]] of kind "late reply": did you mean "delay_chars"?`},
		{"setting out of range", "kind = \"no reply\"\n", "kind = \"late reply\"\ndelay_chars = 331\n",
			`28:15: delay_chars: got 331, want 0.01 to 330`},
		{"setting with a fraction", "kind = \"no reply\"\n", "kind = \"swallowed preamble\"\nswallowed_chars = 2.5\n",
			`28:19: swallowed_chars: got 2.5, want a whole number, 1 to 20`},
		{"setting as a text", "kind = \"no reply\"\n", "kind = \"late reply\"\ndelay_chars = \"30\"\n",
			`28:15: delay_chars: got the string "30", want a number`},
		{"count of nothing", `name = "asleep"`, `count = 0`, `29:9: count: got 0, want a whole number from 1 to 2147483647`},
		{"end before the beginning", `until = "20s"`, `until = "12s"`, `31:9: until: got 12s, want later than from, which is 12s`},
		{"end at the beginning of all", `until = "20s"`, `until = 0`, `31:9: until: got 0, want later than from`},
		{"time without a unit", `from = "12s"`, `from = "12"`,
			`30:8: from: got the string "12", want a time such as "12s", or seconds, up to 1e+09`},
		{"time before the beginning", `from = "12s"`, `from = -1`, `30:8: from: got -1, want a time such as "12s", or seconds, up to 1e+09`},
		{"name twice", `kind = "line cut"`, "kind = \"line cut\"\nname = \"asleep\"", `35:8: name "asleep" is that of a fault before: want another one`},
	})
	shared := strings.Replace(lively, "polling = 1\n", "polling = 17\n", 1)
	refuses(t, shared, []struct{ name, old, new, want string }{
		{"address that revision 5 has not", "kind = \"line cut\"\nbehind = \"PT-1\"\n", "kind = \"shared address\"\ndevice = \"TT-2\"\nwith = \"PT-1\"\n",
			`36:8: with: got "PT-1", want a device at a polling address from 0 to 15, which TT-2 of revision 5 can have: it is at 17`},
	})
}

func TestRefusalsOfMasters(t *testing.T) {
	const poll = `poll = [ { device = "TT-2", command = 3, every = "2s" } ]`
	refuses(t, lively, []struct{ name, old, new, want string }{
		{"kind", `kind = "primary"`, `kind = "first"`, `23:8: kind "first" is unknown, want one of primary, secondary`},
		{"kind missing", `kind = "primary"`, ``, `22:3: [[master]] has no kind, want for instance kind = "primary"`},
		{"two of a kind", "[[fault]]\nkind = \"line cut\"", "[[master]]\nkind = \"primary\"\n[[fault]]\nkind = \"line cut\"",
			`34:8: there is a primary master in line 22 already: a line has one of each kind; ` +
				`two that take themselves for the primary one are a fault of kind "second primary master"`},
		{"retries", poll, `retries = 11`, `24:11: retries: got 11, want a whole number from 0 to 10`},
		{"clock", poll, `clock_ppm = 0.5`, `24:13: clock_ppm: got 0.5, want a whole number from -10000 to 10000`},
		{"device that is not there", poll, `poll = [ { device = "LT-3", command = 3 } ]`,
			`24:21: device "LT-3" is not on the line, want one of PT-1, TT-2`},
		{"command missing", poll, `poll = [ { device = "TT-2" } ]`, `24:10: the query has no command, want for instance command = 3`},
		{"key near", poll, `poll = [ { device = "TT-2", comand = 3 } ]`, `24:29: unknown key "comand" in the query: did you mean "command"?`},
		{"no list", poll, `poll = "TT-2"`,
			`24:8: poll: got the string "TT-2", want a list, for instance poll = [ { device = "PT-101", command = 3, every = "2s" } ]`},
		{"shorter than a transaction", poll, `poll = [ { device = "TT-2", command = 3, every = "300ms" } ]`,
			`24:50: every 300ms is shorter than one transaction: carrier lead 4.2 ms + preambles of requests 45.8 ms + requests 82.5 ms + ` +
				`latency 50.0 ms + preambles of replies 45.8 ms + replies 183.3 ms + carrier tail 2.5 ms + rest of link grant 70.8 ms = 485.0 ms`},
		{"without a pause", poll, `poll = [ { device = "TT-2", command = 3, every = "0s" } ]`,
			`24:50: every: got the string "0s", want a time such as "2s"; left out, the command is asked as often as there are turns`},
		{"half a byte", poll, `poll = [ { device = "TT-2", command = 9, data = "00f" } ]`,
			`24:49: data: got the string "00f", want hexadecimal digits, two a byte, for instance "00ff"`},
		{"no data", poll, `poll = [ { device = "TT-2", command = 33 } ]`,
			`24:39: command 33 (read device variables): got no data, want data of at least 2 hexadecimal digits`},
		{"too few data", poll, `poll = [ { device = "TT-2", command = 34, data = "00" } ]`,
			`24:50: command 34 (write primary variable damping value): got data of 2 hexadecimal digits, want at least 8`},
		{"too many data", poll, `poll = [ { device = "TT-2", command = 3, data = "` + strings.Repeat("00", 256) + `" } ]`,
			`24:49: data of 256 bytes do not fit into a request`},
	})
}

func TestRefusalsOfBursts(t *testing.T) {
	refuses(t, lively, []struct{ name, old, new, want string }{
		{"command missing", "  command = 3\n", "", `10:12: [[device.burst]] has no command, want for instance command = 3`},
		{"command that cannot be published", "  command = 3\n", "  command = 0\n",
			`11:13: burst[0].command: got 0, want one of 1, 2, 3, 9, 33, 48, which revision 7 can publish`},
		{"period between two", `every = "1s"`, `every = "3s"`,
			`12:11: burst[0].every: got 3s, want 0.5s, 1s, 2s, 4s, 8s, 16s, 32s, or 60s to 3600s`},
		{"maximum below the period", `every = "1s"`, "every = \"2s\"\n  maximum = \"1s\"",
			`13:13: burst[0].maximum: got 1s, want no less than every, 2s`},
		{"trigger near", `every = "1s"`, `trigger = "raising"`, `12:13: trigger "raising" is unknown: did you mean "rising"?`},
		{"single brackets", "[[device.burst]]", "[device.burst]",
			`10:11: [device.burst] stands in single brackets, want [[device.burst]]: there may be several`},
		{"two in revision 5", `revision = 5`, "revision = 5\nburst = [ { command = 1 }, { command = 2 } ]",
			`19:9: burst: got 2 of them, want at most 1, as revision 5 has them`},
	})
}

func TestRefusalsOfTimedActions(t *testing.T) {
	set := "set = \"TT-2.damping_s\"\nto = 2.0\n"
	refuses(t, lively, []struct{ name, old, new, want string }{
		{"time missing", "time = \"14s\"\n", "", `42:3: [[at]] has no time, want for instance time = "12s"`},
		{"time that is none", `"14s"`, `"soon"`, `43:8: time: got the string "soon", want a time such as "12s", or seconds, up to 1e+09`},
		{"verb missing", `mute = "TT-2"`, ``,
			`42:3: [[at]] has none of set, mute, unmute, move, fault, remove, stop, go, want for instance mute = "PT-101"`},
		{"verb near", `mute = "TT-2"`, `mut = "TT-2"`, `44:1: unknown key "mut" in [[at]]: did you mean "mute"?`},
		{"verb like no other", `mute = "TT-2"`, `explode = "TT-2"`,
			`42:3: [[at]] has none of set, mute, unmute, move, fault, remove, stop, go, want for instance mute = "PT-101"`},
		{"two verbs", `mute = "TT-2"`, "mute = \"TT-2\"\nstop = true", `45:8: stop stands beside mute, want each in an action of its own`},
		{"device that is not there", `mute = "TT-2"`, `mute = "TT-3"`, `44:8: device "TT-3" is not on the line, want one of PT-1, TT-2`},
		{"device by a number", `mute = "TT-2"`, `mute = 2`, `44:8: mute: got 2, want a string`},
		{"value without a key", `mute = "TT-2"`, "mute = \"TT-2\"\nto = 3",
			`45:6: to stands beside mute, want it beside set`},
		{"place without a move", `mute = "TT-2"`, "mute = \"TT-2\"\nbehind = \"PT-1\"", `45:10: behind stands beside mute, want it beside move`},
		{"value alone", `mute = "TT-2"`, "to = 3",
			`42:3: [[at]] has none of set, mute, unmute, move, fault, remove, stop, go, want for instance mute = "PT-101"`},
		{"key without a value", set, "set = \"TT-2.damping_s\"\n", `39:7: set stands without a to, want both`},
		{"key of nobody", set, "set = \"TT-3.damping_s\"\nto = 2\n", `39:7: device "TT-3" is not on the line, want one of PT-1, TT-2, or line`},
		{"no key", set, "set = \"TT-2\"\nto = 2\n",
			`39:7: set: got "TT-2", want a key of the device behind a point, for instance TT-2.process.value`},
		{"key near", set, "set = \"TT-2.dampng_s\"\nto = 2\n", `39:7: unknown key "dampng_s" in [[device]]: did you mean "damping_s"?`},
		{"key of a table near", set, "set = \"TT-2.sensor.uper\"\nto = 2\n", `39:7: unknown key "uper" in [device.sensor]: did you mean "upper"?`},
		{"value of another type", set, "set = \"TT-2.damping_s\"\nto = \"2\"\n", `40:6: damping_s: got the string "2", want a number`},
		{"value below nothing", set, "set = \"TT-2.damping_s\"\nto = -2\n", `40:6: damping_s: got -2, want 0 or more`},
		{"range beyond the sensor", set, "set = \"TT-2.range\"\nto = { lower = 0, upper = 101 }\n",
			`40:27: range.upper: got 101 °C, want 0 to 100 °C, the sensor's limits`},
		{"half a range", set, "set = \"TT-2.range.upper\"\nto = 50\n", `39:7: [device.range] has no lower, want for instance lower = 0.0`},
		{"process of another model", set, "set = \"TT-2.process.model\"\nto = \"ramp\"\n",
			`39:7: [device.process] of model "ramp" has no from, want for instance from = 10.0`},
		{"tag", set, "set = \"TT-2.tag\"\nto = \"TT-3\"\n", `39:7: the tag of TT-2 cannot be set: it names the device on this line`},
		{"identity", set, "set = \"TT-2.revision\"\nto = 7\n",
			`40:6: revision: got 7, want 5, as it is: that makes the device, and stays while the line runs`},
		{"sensor of another unit", set, "set = \"TT-2.sensor.unit\"\nto = \"K\"\n",
			`40:6: sensor.unit: got K, want °C, as it is: that makes the device, and stays while the line runs`},
		{"stages", set, "set = \"TT-2.stages\"\nto = [\"sensor\", \"range\", \"output\"]\n",
			`40:6: stages: got others, want those that there are: they make the device, and stay while the line runs`},
		{"polling address of another device", set, "set = \"TT-2.polling\"\nto = 1\n",
			`40:6: polling address 1 is that of "PT-1": want another one, or allow_duplicate = true for one of the two`},
		{"what is set before counts", set, "set = \"TT-2.polling\"\nto = 3\n[[at]]\ntime = 40\nset = \"PT-1.polling\"\nto = 3\n",
			`44:6: polling address 3 is that of "TT-2": want another one, or allow_duplicate = true for one of the two`},
		{"move behind nobody", `mute = "TT-2"`, "move = \"TT-2\"\nbehind = \"TT-3\"", `45:10: device "TT-3" is not on the line, want one of PT-1, TT-2`},
		{"move behind itself", `mute = "TT-2"`, "move = \"TT-2\"\nbehind = \"TT-2\"",
			`45:10: behind: got "TT-2", want another device than the one that is moved`},
		{"fault unknown", `mute = "TT-2"`, `fault = { kind = "no repyl", device = "TT-2" }`,
			`44:18: kind "no repyl" is unknown: did you mean "no reply"?`},
		{"fault of a taken name", `mute = "TT-2"`, `fault = { kind = "busy", device = "TT-2", name = "asleep" }`,
			`44:50: name: got "asleep", want another name: there is a fault of this name`},
		{"fault that is over before", `mute = "TT-2"`, `fault = { kind = "busy", device = "TT-2", until = "14s" }`,
			`44:51: until: got 14s, want later than time`},
		{"fault that is a text", `mute = "TT-2"`, `fault = "busy"`, `44:9: fault: got the string "busy", want a table`},
		{"fault that is not there", `mute = "TT-2"`, `remove = "awake"`, `44:10: no fault is named "awake", want one of asleep, line cut`},
		{"fault that is gone", `mute = "TT-2"`, "remove = \"asleep\"\n[[at]]\ntime = \"15s\"\nremove = \"asleep\"",
			`47:10: no fault is named "asleep", want one of line cut`},
		{"stop that does not", `mute = "TT-2"`, `stop = false`, `44:8: stop: got false, want true`},
		{"go in a file", `mute = "TT-2"`, `go = true`,
			`44:6: go stands beside a time, to which a line that stands still never comes: want it without`},
	})
}

// A JSON object is refused as a table of a file is; of what a file cannot be, as
// what it is.
func TestRefusalsOfObjects(t *testing.T) {
	d := parse(t, lively)
	for _, c := range []struct{ text, want string }{
		{`{"mute": "TT-2"`, `1:16: this is no JSON: unexpected end of JSON input`},
		{`mute TT-2`, `1:1: this is no JSON: invalid character 'm' looking for beginning of value`},
		{`["mute", "TT-2"]`, `1:1: this is no object, want one in braces`},
		{`{}`, `1:1: the object has none of set, mute, unmute, move, fault, remove, stop, go, want for instance "mute": "PT-101"`},
		{`{"mut": "TT-2"}`, `1:2: unknown key "mut" in the object: did you mean "mute"?`},
		{`{"mute": "TT-2", "unmute": "TT-2"}`, `1:28: unmute stands beside mute, want each in an action of its own`},
		{`{"mute": ["TT-2"]}`, `1:10: mute: got an array, want a string`},
		{`{"mute": "TT-2", "mute": "PT-1"}`, `1:18: key "mute" is there twice, want it once`},
		{`{"mute": "TT-3"}`, `1:10: device "TT-3" is not on the line, want one of PT-1, TT-2`},
		{`{"time": "5", "mute": "TT-2"}`, `1:10: time: got the string "5", want a time such as "12s", or seconds, up to 1e+09`},
		{`{"time": 1e10, "mute": "TT-2"}`, `1:10: time: got 1e10, want a time such as "12s", or seconds, up to 1e+09`},
		{`{"time": 5, "go": true}`, `1:19: go stands beside a time, to which a line that stands still never comes: want it without`},
		{`{"set": "TT-2.damping_s"}`, `1:9: set stands without a to, want both`},
		{`{"fault": {"device": "TT-2"}}`, `1:2: "fault" has no kind, want for instance "kind": "late reply"`},
		{`{"fault": {"kind": "late reply", "device": "TT-2"}}`,
			`1:2: "fault" of kind "late reply" has no delay_chars, want for instance "delay_chars": 30`},
	} {
		_, err := d.ReadAction("control", 1, []byte(c.text))
		var refused *linefile.Error
		if !errors.As(err, &refused) || err.Error() != "control:"+c.want {
			t.Errorf("%s\ngot  %v\nwant control:%s", c.text, err, c.want)
		}
	}
}

func TestRefusalsOfFlags(t *testing.T) {
	d := parse(t, lively)
	for _, c := range []struct{ text, want string }{
		{"", "column 1: there is nothing, want a key and its value, for instance probability=0.1"},
		{"device=TT-2", "column 1: --fault has no kind, want for instance kind=late reply"},
		{"lat reply, device=TT-2", `column 1: kind "lat reply" is unknown: did you mean "late reply"?`},
		{"late reply, device=TT-3, delay_chars=30", `column 20: device "TT-3" is not on the line, want one of PT-1, TT-2`},
		{"late reply, device=TT-2, delay_chars=400", "column 38: delay_chars: got 400, want 0.01 to 330"},
		{"late reply, device=TT-2", `column 1: --fault of kind "late reply" has no delay_chars, want for instance delay_chars=30`},
		{"no reply, device=TT-2, probability=2", "column 36: probability: got 2, want 0 to 1"},
		{"no reply, device=TT-2, probabilty=1", `column 24: unknown key "probabilty" in --fault of kind "no reply": did you mean "probability"?`},
		{"no reply, TT-2", `column 11: "TT-2" has no value, want for instance probability=0.1`},
	} {
		_, err := d.ReadFault(c.text)
		var refused *linefile.Error
		if !errors.As(err, &refused) || err.Error() != "--fault, "+c.want {
			t.Errorf("%s\ngot  %v\nwant --fault, %s", c.text, err, c.want)
		}
	}
}
