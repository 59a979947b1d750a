package view_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"looptone/cmd/looptone/view"
	"looptone/frame"
)

// valueCases are replies of a device that has introduced itself. All data are
// constructed after the layouts that package payload cites; floats are encoded
// by hand after IEEE 754.
var valueCases = []struct {
	name     string
	identity string
	command  uint16
	data     string
	values   string // JSON
	text     string // as a sentence says them
}{
	{"values with units", identity5, 2, "41 40 00 00 42 48 00 00",
		`[{"name":"loop current","value":12,"unit":"mA","unit_code":39},{"name":"percent of range","value":50,"unit":"%","unit_code":57}]`,
		"loop current 12 mA, percent of range 50 %"},
	{"shortest decimal", identity5, 2, "3d cc cc cd 3e aa aa ab",
		`[{"name":"loop current","value":0.1,"unit":"mA","unit_code":39},{"name":"percent of range","value":0.33333334,"unit":"%","unit_code":57}]`,
		"loop current 0.1 mA, percent of range 0.33333334 %"},
	{"large and small", identity5, 2, "7f 7f ff ff 33 d6 bf 95",
		`[{"name":"loop current","value":3.4028235e+38,"unit":"mA","unit_code":39},{"name":"percent of range","value":1e-07,"unit":"%","unit_code":57}]`,
		"loop current 3.4028235e+38 mA, percent of range 1e-07 %"},
	{"negative, and zero with a sign", identity5, 2, "c2 f6 e9 79 80 00 00 00",
		`[{"name":"loop current","value":-123.456,"unit":"mA","unit_code":39},{"name":"percent of range","value":-0,"unit":"%","unit_code":57}]`,
		"loop current -123.456 mA, percent of range -0 %"},
	{"not a number and infinity", identity5, 2, "7f a0 00 00 7f 80 00 00",
		`[{"name":"loop current","value":null,"raw":"7fa00000","unit":"mA","unit_code":39,"text":"not a number"},` +
			`{"name":"percent of range","value":null,"raw":"7f800000","unit":"%","unit_code":57,"text":"infinity"}]`,
		"loop current 7f a0 00 00 (not a number), percent of range 7f 80 00 00 (infinity)"},
	{"negative infinity", identity5, 1, "0c ff 80 00 00",
		`[{"name":"primary variable","value":null,"raw":"ff800000","unit":"kPa","unit_code":12,"text":"-infinity"}]`,
		"ff 80 00 00 (-infinity)"},
	{"a unit without a name", identity5, 1, "bd 41 c8 00 00",
		`[{"name":"primary variable","value":25,"unit":"unit 189","unit_code":189}]`, "25 unit 189"},
	{"enumerations", identity7, 7, "03 01",
		`[{"name":"polling address","value":3},{"name":"loop current mode","value":1,"text":"enabled"}]`,
		"polling address 3, loop current mode 1 (enabled)"},
	{"an enumeration without a meaning", identity7, 7, "03 09",
		`[{"name":"polling address","value":3},{"name":"loop current mode","value":9}]`,
		"polling address 3, loop current mode 9"},
	{"text and a date", identity5, 13, "31 4b 71 c3 38 20 82 08 20 82 08 20 82 08 20 82 08 20 1d 02 7c",
		`[{"name":"tag","value":"LT-103"},{"name":"descriptor","value":""},{"name":"date","value":"2024-02-29"}]`,
		`tag "LT-103", descriptor "", date "2024-02-29"`},
	{"a day that does not exist", identity5, 13, "31 4b 71 c3 38 20 82 08 20 82 08 20 82 08 20 82 08 20 1d 02 7b",
		`[{"name":"tag","value":"LT-103"},{"name":"descriptor","value":""},{"name":"date","value":null,"raw":"1d027b","text":"no such day"}]`,
		`tag "LT-103", descriptor "", date 1d 02 7b (no such day)`},
	{"Latin-1, padding and what stands behind it", identity7, 20, "42 65 68 e4 6c 74 65 72 20 22 b5 22 5c 20 00 41" + strings.Repeat("00", 16),
		`[{"name":"long tag","value":"Behälter \"µ\"\\"}]`, `"Behälter \"µ\"\\"`},
	{"bytes of which there are none", identity7, 78, "00 01 00 01 00",
		`[{"name":"extended device status","value":0,"text":[]},{"name":"number of commands","value":1},` +
			`{"name":"command number","slot":0,"value":1},{"name":"byte count","slot":0,"value":0},` +
			`{"name":"response code and data","slot":0,"value":""}]`,
		"extended device status none, number of commands 1, slot 0 command number 1, slot 0 byte count 0, slot 0 response code and data none"},
	{"a quotation mark", identity7, 20, "41 22 42" + strings.Repeat("00", 29), `[{"name":"long tag","value":"A\"B"}]`, `"A\"B"`},
	{"a backslash", identity7, 20, "41 5c 42" + strings.Repeat("00", 29), `[{"name":"long tag","value":"A\\B"}]`, `"A\\B"`},
	{"a control character", identity7, 20, "41 0a 42" + strings.Repeat("00", 29), `[{"name":"long tag","value":"A\nB"}]`, `"A\nB"`},
	{"slots, flags and exact seconds", identity7, 9, "03 f6 40 20 41 c8 00 00 c0 00 51 27 40 80 00 00 39 00 00 00 01",
		`[{"name":"extended device status","value":3,"text":["maintenance required","device variable alert"]},` +
			`{"name":"device variable code","slot":0,"value":246,"text":"primary variable"},` +
			`{"name":"device variable classification","slot":0,"value":64,"text":"temperature"},` +
			`{"name":"device variable value","slot":0,"value":25,"unit":"°C","unit_code":32},` +
			`{"name":"device variable status","slot":0,"value":192,"text":["good","not limited"]},` +
			`{"name":"device variable code","slot":1,"value":0},` +
			`{"name":"device variable classification","slot":1,"value":81,"text":"analytical"},` +
			`{"name":"device variable value","slot":1,"value":4,"unit":"mA","unit_code":39},` +
			`{"name":"device variable status","slot":1,"value":57,"text":["bad","constant","more device variable status available","bit 0"]},` +
			`{"name":"time stamp","value":0.00003125,"unit":"s","unit_code":51}]`,
		"extended device status maintenance required and device variable alert, " +
			"slot 0 device variable code 246 (primary variable), slot 0 device variable classification 64 (temperature), " +
			"slot 0 device variable value 25 °C, slot 0 device variable status good and not limited, " +
			"slot 1 device variable code 0, slot 1 device variable classification 81 (analytical), " +
			"slot 1 device variable value 4 mA, slot 1 device variable status bad and constant and more device variable status available and bit 0, " +
			"time stamp 0.00003125 s"},
	{"the longest time, no flag", identity7, 9, "00 f6 40 20 41 c8 00 00 c0 ff ff ff ff",
		`[{"name":"extended device status","value":0,"text":[]},` +
			`{"name":"device variable code","slot":0,"value":246,"text":"primary variable"},` +
			`{"name":"device variable classification","slot":0,"value":64,"text":"temperature"},` +
			`{"name":"device variable value","slot":0,"value":25,"unit":"°C","unit_code":32},` +
			`{"name":"device variable status","slot":0,"value":192,"text":["good","not limited"]},` +
			`{"name":"time stamp","value":134217.72796875,"unit":"s","unit_code":51}]`,
		"extended device status none, slot 0 device variable code 246 (primary variable), " +
			"slot 0 device variable classification 64 (temperature), slot 0 device variable value 25 °C, " +
			"slot 0 device variable status good and not limited, time stamp 134217.72796875 s"},
	{"extra bytes", identity5, 1, "39 41 c8 00 00 be ef",
		`[{"name":"primary variable","value":25,"unit":"%","unit_code":57},{"name":"extra bytes","value":"beef"}]`,
		"primary variable 25 %, extra bytes be ef"},
	{"a unit alone", identity5, 1, "39", `[{"name":"primary variable unit","value":57,"unit":"%"}]`, "%"},
	{"an incomplete field", identity5, 1, "39 41 c8",
		`[{"name":"primary variable unit","value":57,"unit":"%"},{"name":"primary variable","value":null,"raw":"41c8","text":"incomplete"}]`,
		"primary variable unit %, primary variable 41 c8 (incomplete)"},
	{"two fields of one byte", identity5, 0, "fe f9 01 05 05 01 01 0a 01 00 00 07",
		`[{"name":"expansion code","value":254},{"name":"manufacturer","value":249},{"name":"device type","value":1},` +
			`{"name":"request preambles","value":5},{"name":"universal revision","value":5},{"name":"device revision","value":1},` +
			`{"name":"software revision","value":1},{"name":"hardware revision","value":1},` +
			`{"name":"physical signalling","value":2,"text":"RS-485"},` +
			`{"name":"flags","value":1,"text":["multi-sensor device"]},{"name":"device id","value":7}]`,
		"expansion code 254, manufacturer 249, device type 1, request preambles 5, universal revision 5, device revision 1, " +
			"software revision 1, hardware revision 1, physical signalling 2 (RS-485), flags multi-sensor device, device id 7"},
	{"nothing", identity5, 1, "", `[]`, ""},
}

func TestValues(t *testing.T) {
	for _, tt := range valueCases {
		t.Run(tt.name, func(t *testing.T) {
			c := conversation{t: t}
			c.say(reply(three, 0, tt.identity), nil)
			m := c.say(reply(three, tt.command, tt.data), nil)
			object, err := readJSON(new(view.JSON).Append(nil, m, nil))
			if err != nil {
				t.Fatal(err)
			}
			want, err := readJSON([]byte(`{"values":` + tt.values + `}`))
			if err != nil {
				t.Fatalf("what is wanted: %v", err)
			}
			if d := cmp.Diff(want["values"], object["values"]); d != "" {
				t.Errorf("(- want, + got)\n%s", d)
			}
			if assumed, ok := object["revision_assumed"]; ok && assumed != false {
				t.Errorf("revision_assumed is %v, want false", assumed)
			}
			if got := view.Values(m.Reading.Values); got != tt.text {
				t.Errorf("\ngot  %s\nwant %s", got, tt.text)
			}
		})
	}
}

// The revision stands beside the values: assumed before the device has told it.
func TestRevisionOfValues(t *testing.T) {
	for _, tt := range []struct {
		name     string
		said     []frame.Frame
		revision string
		assumed  any
	}{
		{"assumed", []frame.Frame{reply(three, 1, "39 41 c8 00 00")}, "7", true},
		{"told by itself", []frame.Frame{reply(three, 0, identity5)}, "5", false},
		{"told by the polling address", []frame.Frame{reply(three, 0, identity5), reply(device5, 1, "39 41 c8 00 00")}, "5", false},
		{"told by the unique address", []frame.Frame{reply(device5, 0, identity5), reply(device5, 1, "39 41 c8 00 00")}, "5", false},
	} {
		c := conversation{t: t}
		var object map[string]any
		for _, f := range tt.said {
			var err error
			if object, err = readJSON(new(view.JSON).Append(nil, c.say(f, nil), nil)); err != nil {
				t.Fatal(err)
			}
		}
		if d := cmp.Diff(map[string]any{"revision": tt.revision, "assumed": tt.assumed},
			map[string]any{"revision": number(object["revision"]), "assumed": object["revision_assumed"]}); d != "" {
			t.Errorf("%s: (- want, + got)\n%s", tt.name, d)
		}
	}
}
