package main_test

import (
	"slices"
	"strings"
	"testing"
)

// Devices whose replies take between nothing and as long as they may: 28 characters
// are 256.67 ms.
const quickAndSlow = `
[[device]]
tag = "PT-1"
polling = 1
latency_ms = 256
kind = "pressure"
sensor = { lower = 0.0, upper = 10.0, unit = "bar" }
process = { model = "constant", value = 2.5 }
[[device]]
tag = "TT-2"
polling = 2
latency_ms = 20
kind = "temperature"
sensor = { lower = 0.0, upper = 100.0, unit = "°C" }
process = { model = "constant", value = 20.0 }
[[device]]
tag = "LT-4"
polling = 4
revision = 5
latency_ms = 120
kind = "level"
sensor = { lower = 0.0, upper = 40.0, unit = "kPa" }
process = { model = "constant", value = 10.0 }
`

const (
	named       = "[line]\nname = \"Rules\"\n"
	bothMasters = `
[[master]]
kind = "primary"
poll = [ { device = "PT-1", command = 3 }, { device = "LT-4", command = 3 } ]
[[master]]
kind = "secondary"
poll = [ { device = "TT-2", command = 3 }, { device = "PT-1", command = 1 } ]
`
	primaryAlone = `
[[master]]
kind = "primary"
poll = [ { device = "PT-1", command = 3 }, { device = "LT-4", command = 9, data = "00" } ]
`
	secondaryAlone = `
[[master]]
kind = "secondary"
poll = [ { device = "TT-2", command = 1 }, { device = "LT-4", command = 3 } ]
`
	atTheirTimes = `
[[master]]
kind = "primary"
poll = [ { device = "PT-1", command = 3, every = "1.9s" }, { device = "TT-2", command = 3, every = "2.3s" } ]
[[master]]
kind = "secondary"
poll = [ { device = "LT-4", command = 3, every = "1.7s" } ]
`
	silences = `
[[fault]]
kind = "no reply"
device = "LT-4"
probability = 0.3
`
)

// bursts has a device of quickAndSlow burst.
func bursts(devices string) string {
	return strings.Replace(devices, "value = 20.0 }\n", "value = 20.0 }\n[[device.burst]]\ncommand = 1\nevery = \"1s\"\n", 1)
}

// TestTimersOfALog checks from the log of lines in line time, with nothing that the
// line is made of, that everybody keeps to the timers; and in logs that were changed
// that whoever does not is found.
func TestTimersOfALog(t *testing.T) {
	for _, tt := range []struct {
		name, line, span string
		busy             bool // masters use every turn
	}{
		{"two masters", named + quickAndSlow + bothMasters, "10m", true},
		{"two masters and a bursting device", named + bursts(quickAndSlow) + bothMasters, "10m", true},
		{"the primary master alone", named + quickAndSlow + primaryAlone, "10m", true},
		{"the secondary master alone", named + quickAndSlow + secondaryAlone, "10m", true},
		{"the primary master and a bursting device", named + bursts(quickAndSlow) + primaryAlone, "10m", true},
		{"the secondary master and a bursting device", named + bursts(quickAndSlow) + secondaryAlone, "10m", true},
		{"a bursting device alone", named + bursts(quickAndSlow), "10m", true},
		{"masters that ask at their times", named + quickAndSlow + atTheirTimes, "1h", false},
		{"masters that ask at their times, and a bursting device", named + bursts(quickAndSlow) + atTheirTimes, "1h", false},
		{"a device that keeps silent", named + quickAndSlow + bothMasters + silences, "10m", true},
		{"a device that keeps silent, and a bursting one", named + bursts(quickAndSlow) + bothMasters + silences, "10m", true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			rec := record(t, logged(t, lineFile(t, tt.line), "--fast", tt.span))
			judged(t, rec, tt.busy)
			t.Logf("%d messages in %s", len(rec.carriers), tt.span)
		})
	}
}

// The line of two masters that comes with the program keeps the rules too.
func TestTimersOfTheExample(t *testing.T) {
	judged(t, record(t, logged(t, "../../testdata/lines/two-masters.toml", "--fast", "1h")), false)
}

// What a fault breaks is found in the log, and nothing else is.
func TestFaultsAreInTheLog(t *testing.T) {
	for fault, want := range map[string][]string{
		"late reply, device=TT-2, delay_chars=27, count=3":          {"slave time-out"},
		"wrong check byte, device=TT-2, count=3":                    {"frame"},
		"gap inside a frame, device=TT-2, gap_chars=0.5, count=3":   {"contiguous"},
		"swallowed preamble, device=TT-2, swallowed_chars=3":        {"carrier", "preambles"},
		"stray characters, device=TT-2, count=3":                    {"frame"},
		"stuck carrier, device=TT-2, count=1":                       {"carrier"},
		"bit errors, talker=secondary master, bit_error_rate=0.002": {"contiguous", "frame", "reply"}, // to what cannot be read
		"wrong address, talker=secondary master, count=3":           nil,
		"no reply, device=PT-1, probability=0.1":                    nil,
	} {
		t.Run(fault, func(t *testing.T) {
			t.Parallel()
			rec := record(t, logged(t, lineFile(t, named+quickAndSlow+bothMasters), "--fast", "10m", "--fault", fault))
			breaches := judgeRecord(rec, false)
			var rules []string
			for _, b := range breaches {
				rules = append(rules, b.rule)
			}
			slices.Sort(rules)
			if rules = slices.Compact(rules); !slices.Equal(rules, want) {
				t.Errorf("found %q, want %q\n%s", rules, want, said(breaches))
			}
		})
	}
}
