package fault

import (
	"errors"
	"math"
	"testing"

	"looptone/sim"
	"looptone/sim/setting"
)

func TestAddRefuses(t *testing.T) {
	late := map[string]float64{"delay_chars": 30}
	for _, c := range []struct {
		name  string
		fault Fault
		want  string
	}{
		{"unknown kind", Fault{Kind: "lte reply"}, `kind: got "lte reply", want ` + oneOf(names(kinds))},
		{"no kind", Fault{}, `kind: got "", want ` + oneOf(names(kinds))},
		{"device that is not there", on("PT-9", "no reply", nil), `device: got "PT-9", want a device on the line: one of "PT-1" and "PT-2"`},
		{"device kind without a device", always("no reply", nil),
			`device: is not given, want the tag of the device that it strikes, for instance "PT-1"`},
		{"device kind with a talker", Fault{Kind: "busy", Talker: Host, Probability: 1},
			`talker: got "host", want none: "busy" strikes a device, which device names`},
		{"line kind with a device", on("PT-1", "noise", nil), `device: got "PT-1", want none: "noise" strikes the whole line`},
		{"line kind with a talker", Fault{Kind: "noise", Talker: Host, Probability: 1},
			`talker: got "host", want none: "noise" strikes the whole line`},
		{"device and talker", Fault{Kind: "bit errors", Device: "PT-1", Talker: Host, Probability: 1}, `talker: got "host", want none beside device`},
		{"talker that is none", Fault{Kind: "bit errors", Talker: "third master", Probability: 1},
			`talker: got "third master", want one of "primary master", "secondary master" and "host", or the tag of a device`},
		{"whole messages of a host", Fault{Kind: "wrong check byte", Talker: Host, Probability: 1},
			`talker: got "host", want a station that is simulated: what comes in from a host is on the line character by character, and this fault needs the whole message`},
		{"carrier of a host", Fault{Kind: "late carrier detect", Talker: Host, Probability: 1},
			`talker: got "host", want a station that is simulated: a host is told of no carrier`},
		{"probability above 1", Fault{Kind: "bit errors", Probability: 1.5}, `probability: got 1.5, want 0 to 1`},
		{"probability below 0", Fault{Kind: "bit errors", Probability: -0.5}, `probability: got -0.5, want 0 to 1`},
		{"probability that is none", Fault{Kind: "bit errors", Probability: math.NaN()}, `probability: got NaN, want 0 to 1`},
		{"chance of what lasts", Fault{Kind: "own echo", Probability: 0.5}, `probability: got 0.5, want 1: "own echo" lasts and has no chance`},
		{"number of what lasts", Fault{Kind: "own echo", Probability: 1, Count: 3}, `count: got 3, want none: "own echo" lasts and is not counted`},
		{"negative count", Fault{Kind: "bit errors", Probability: 1, Count: -1}, `count: got -1, want 1 or more, or none for no limit`},
		{"before the beginning", Fault{Kind: "bit errors", Probability: 1, From: -sim.Second}, `from: got -1s, want 0s or more`},
		{"over before it begins", Fault{Kind: "bit errors", Probability: 1, From: 20 * sim.Second, Until: 12 * sim.Second},
			`until: got 12s, want later than from, which is 20s`},
		{"over when it begins", Fault{Kind: "bit errors", Probability: 1, From: 20 * sim.Second, Until: 20 * sim.Second},
			`until: got 20s, want later than from, which is 20s`},
		{"over by now", Fault{Kind: "bit errors", Probability: 1, Until: 4 * sim.Second}, `until: got 4s, want later than 5s, the line's present time`},
		{"setting that is needed", on("PT-1", "late reply", nil), `delay_chars: is not given, want 0.01 to 330`},
		{"setting too large", on("PT-1", "late reply", map[string]float64{"delay_chars": 331}), `delay_chars: got 331, want 0.01 to 330`},
		{"setting that is no number", on("PT-1", "late reply", map[string]float64{"delay_chars": math.NaN()}), `delay_chars: got NaN, want 0.01 to 330`},
		{"setting of another kind", on("PT-1", "no reply", late), `delay_chars: got 30, want none: "no reply" has no settings`},
		{"unknown setting", always("bit errors", map[string]float64{"rate": 0.1}), `rate: got 0.1, want none: "bit errors" has bit_error_rate`},
		{"part of a character", always("stray characters", map[string]float64{"stray_chars": 1.5}), `stray_chars: got 1.5, want a whole number, 1 to 20`},
		{"right count", always("wrong byte count", map[string]float64{"count_off_bytes": 0}),
			`count_off_bytes: got 0, want a whole number, -255 to 255, not 0`},
		{"no other device", on("PT-1", "shared address", nil),
			`with: is not given, want the device whose polling address it gets, for instance "PT-1"`},
		{"another device that is not there", Fault{Kind: "line cut", Probability: 1, Other: "PT-9"},
			`behind: got "PT-9", want a device on the line: one of "PT-1" and "PT-2"`},
		{"its own address", Fault{Kind: "shared address", Device: "PT-1", Other: "PT-1", Probability: 1},
			`with: got "PT-1", want another device than the one that it strikes`},
		{"other device without part", Fault{Kind: "busy", Device: "PT-1", Other: "PT-2", Probability: 1},
			`other: got "PT-2", want none: no other device has part in "busy"`},
		{"name twice", Fault{Kind: "bit errors", Name: "first", Probability: 1}, `name: got "first", want another name: there is a fault of this name`},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBench(t, 1, "PT-1", "PT-2")
			b.line.Run(5 * sim.Second)
			b.add(Fault{Name: "first", Kind: "bit errors", Probability: 1})
			name, err := b.set.Add(b.line.Now(), c.fault)
			var refused *setting.Error
			if !errors.As(err, &refused) || err.Error() != c.want || name != "" {
				t.Errorf("got  %q, %v\nwant %s", name, err, c.want)
			}
			if got := b.set.Names(); len(got) != 1 {
				t.Errorf("faults are %q, want those of before", got)
			}
		})
	}
}

func TestRefusalOnALineWithoutDevices(t *testing.T) {
	b := newBench(t, 1)
	_, err := b.set.Add(0, on("PT-1", "no reply", nil))
	if want := `device: got "PT-1", want a device on the line: there is none`; err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}

func TestNames(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	for _, want := range []string{"busy", "busy 2", "busy 3"} {
		if got := b.add(on("PT-1", "busy", nil)); got != want {
			t.Errorf("called %q, want %q", got, want)
		}
	}
	if !b.set.Remove(0, "busy 2") || b.set.Remove(0, "busy 2") {
		t.Error("a fault can be removed once")
	}
	if got := b.add(on("PT-1", "busy", nil)); got != "busy 2" {
		t.Errorf("called %q, want the name that is free again", got)
	}
}
