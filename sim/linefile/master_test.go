package linefile_test

import (
	"runtime"
	"slices"
	"testing"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/linefile"
)

// talkers are the names of those who talk until a moment, in the order in which
// they begin to.
func talkers(a *linefile.Assembly, until sim.Tick) (names []string) {
	a.Line.Log(func(s *sim.Seat, _ *sim.Burst) {
		if !slices.Contains(names, s.Name) {
			names = append(names, s.Name)
		}
	})
	a.Line.Run(until)
	return names
}

// A master that is not told what to ask asks all devices in turn.
func TestMasterAsksAll(t *testing.T) {
	d := parse(t, bench+"[[master]]\nkind = \"secondary\"\n[[master]]\nkind = \"primary\"\n")
	a := assemble(t, d, nil)
	defer a.Close()
	names := talkers(a, 60*sim.Second)
	if want := []string{"primary master", "PT-1", "secondary master", "PT-1.A", "TT-3"}; !slices.Equal(names, want) {
		t.Errorf("got %q, want %q", names, want)
	}
	for _, h := range a.Masters {
		for _, tally := range h.Poll.Tallies() {
			if tally.Command == 3 && tally.Answered < 15 || tally.Damaged+tally.Silent > 0 {
				t.Errorf("%s: got %+v, want answers every few seconds", h.Seat.Name, tally)
			}
		}
	}
}

// A master asks for what it was told, when it was told.
func TestScheduleOfAMaster(t *testing.T) {
	d := parse(t, bench+`
[[master]]
kind = "secondary"
retries = 0
poll = [ { device = "TT-3", command = 33, data = "00", every = "10s" }, { device = "PT-1", command = 1, every = "5s" } ]
`)
	a := assemble(t, d, nil)
	defer a.Close()
	asked := map[uint8]int{}
	a.Line.Log(func(s *sim.Seat, b *sim.Burst) {
		if s != a.Masters[0].Seat {
			return
		}
		var decoder frame.Decoder
		decoder.Feed(b.Chars, nil)
		decoder.End()
		for ev := (frame.Event{}); decoder.Next(&ev); {
			asked[ev.Frame.Command]++
			if ev.Frame.Primary || ev.Frame.Command == 33 && (len(ev.Frame.Data) != 1 || ev.Frame.Data[0] != 0) {
				t.Errorf("got the request %+v", ev.Frame)
			}
		}
	})
	a.Line.Run(100 * sim.Second)
	if asked[33] != 10 || asked[1] < 19 || asked[1] > 20 || asked[11] != 2 {
		t.Errorf("got %v, want command 33 10 times, command 1 20 times, and each device looked for once", asked)
	}
}

// A host has given PT-1 another tag, which it remembers.
func TestMasterKnowsTheTagOfADevice(t *testing.T) {
	tag := "PT-9"
	state := &linefile.State{Store: nowhere{}, Load: func(a frame.Address) (device.Memory, bool, error) {
		return device.Memory{Tag: &tag}, a.DeviceID() == 101, nil
	}}
	a, err := parse(t, bench+"[[master]]\nkind = \"primary\"\n").Assemble(nil, state)
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	if names := talkers(a, 20*sim.Second); !slices.Contains(names, "PT-1") {
		t.Errorf("got %q, want PT-1 among them", names)
	}
}

// A device publishes from the beginning, as it is described.
func TestBurstsOfADescription(t *testing.T) {
	d := parse(t, lively)
	a := assemble(t, d, nil)
	defer a.Close()
	if names := talkers(a, 5*sim.Second); !slices.Contains(names, "PT-1") {
		t.Errorf("got %q, want PT-1 among them, whom nobody asks", names)
	}
}

// A second primary master does not silence the one that is described.
func TestMasterGoesOnBesideARival(t *testing.T) {
	d := parse(t, bench+`
[[master]]
kind = "primary"
poll = [ { device = "PT-1", command = 3, every = "2s" } ]
[[fault]]
kind = "second primary master"
until = "60s"
`)
	a := assemble(t, d, nil)
	defer a.Close()
	asked, before := 0, 0
	for from := sim.Tick(0); from < 120*sim.Second; from += 30 * sim.Second {
		a.Line.Run(from + 30*sim.Second)
		before, asked = before+asked, 0
		for _, tally := range a.Masters[0].Poll.Tallies() {
			if tally.Command == 3 {
				asked = int(tally.Asked) - before
			}
		}
		if asked < 12 {
			t.Errorf("%d requests in the 30 s from %v, want 15, or little fewer", asked, from.Duration())
		}
	}
	if names := talkers(a, 121*sim.Second); slices.Contains(names, "second primary master") {
		t.Errorf("got %q, want no second primary master behind its end", names)
	}
}

// Reading a description and closing what was made of it leaves no script behind.
func TestNothingIsLeftBehind(t *testing.T) {
	before := runtime.NumGoroutine()
	for range 20 {
		a := assemble(t, parse(t, bench+"[[master]]\nkind = \"primary\"\n[[fault]]\nkind = \"second primary master\"\n"), nil)
		a.Line.Run(sim.Second)
		a.Close()
	}
	if more := runtime.NumGoroutine() - before; more >= 20 {
		t.Errorf("%d scripts go on", more)
	}
}
