package device_test

import (
	"testing"

	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/process"
)

// A trigger that is false has a message wait for its maximum period. Command 2 fills
// the gaps meanwhile.
//
// Source: Micro Motion 4200 configuration manual MMI-20048166 p.113; Biffi ICON3000
// HART manual MDE 254 printed pp.34, 40, 44; the window from memory.
func TestTriggers(t *testing.T) {
	const start = 100 * sim.Second
	ramp := process.Ramp{From: 20, To: 80, Start: start.Duration(), Length: start.Duration()} // 0.6 kPa a second
	for _, tt := range []struct {
		what         string
		message      device.Publication
		before, amid int // messages in the first and in the second 100 s
	}{
		{"continuous", device.Publication{Command: 1}, 24, 24},
		{"rising", device.Publication{Command: 1, Trigger: 2, Level: 50}, 2, 13},
		{"falling", device.Publication{Command: 1, Trigger: 3, Level: 50}, 24, 12},
		{"window", device.Publication{Command: 1, Trigger: 1, Level: 6}, 2, 10},
		{"on change", device.Publication{Command: 1, Trigger: 4}, 2, 24},
		{"on change of status", device.Publication{Command: 48, Trigger: 4}, 2, 2},
		{"rising, in percent of the range", device.Publication{Command: 33, Trigger: 2, Level: 50}, 2, 13},
	} {
		tt.message.Every, tt.message.MaximumPeriod = 4*sim.Second, 60*sim.Second
		c := publishing(7, tt.message, device.Publication{Command: 2, Every: sim.Second})
		c.Transmitter.Process.Model, c.Transmitter.DampingS = ramp, 0
		b := newBench(t, c)
		before := len(times(b.listen(start))[tt.message.Command])
		amid := len(times(b.listen(start))[tt.message.Command])
		if before < tt.before-1 || before > tt.before+1 || amid < tt.amid-1 || amid > tt.amid+2 {
			t.Errorf("%s: %d messages, then %d while the value moves, want about %d and %d", tt.what, before, amid, tt.before, tt.amid)
		}
	}
}

// A value that passes the level is published at its update period at once.
func TestTriggerActsAtOnce(t *testing.T) {
	c := publishing(7, device.Publication{Command: 1, Trigger: 2, Level: 50, MaximumPeriod: 3600 * sim.Second},
		device.Publication{Command: 2, Every: sim.Second})
	c.Transmitter.Process.Model, c.Transmitter.DampingS = process.Step{Before: 20, After: 80, Start: (100 * sim.Second).Duration()}, 0
	b := newBench(t, c)
	at := times(b.listen(200 * sim.Second))[1]
	if len(at) < 2 || at[0] > sim.Second || at[1] < 100*sim.Second || at[1] > 101*sim.Second {
		t.Fatalf("published at %v, want once at first, then from 100 s on", at)
	}
	if len(at) < 80 { // it has the shortest period now
		t.Errorf("%d messages, want it to fill the gaps for 100 s", len(at))
	}
}

// The level of a trigger may be in another unit than the value: 0.3 bar are 30 kPa.
func TestTriggerLevelInAnotherUnit(t *testing.T) {
	for level, want := range map[string]bool{"3e99999a": false, "3e4ccccd": true} { // 0.3 and 0.2 bar
		c := publishing(7, device.Publication{Command: 1, Every: sim.Second}, device.Publication{Command: 2})
		b := newBench(t, c) // 25 kPa
		b.turns(7, []turn{{104, "00 02 41 07 " + level, 0, "="}})
		if got := len(times(b.listen(20 * sim.Second))[1]) > 2; got != want {
			t.Errorf("level %s: triggered %t, want %t", level, got, want)
		}
	}
}
