package fault

import (
	"testing"

	"looptone/sim"
	"looptone/sim/device"
)

func TestSharedAddress(t *testing.T) {
	b := newBench(t, 1, "PT-1", "PT-2")
	f := on("PT-2", "shared address", nil)
	f.Other, f.From, f.Until = "PT-1", 10*sim.Second, 20*sim.Second
	b.add(f)
	for _, c := range []struct {
		at       sim.Tick
		polling2 uint8
	}{{5, 2}, {10, 1}, {15, 1}, {20, 2}} {
		b.line.Run(c.at * sim.Second)
		if got := b.devices[1].Polling(); got != c.polling2 {
			t.Errorf("at %d s: PT-2 is at polling address %d, want %d", c.at, got, c.polling2)
		}
		if replies := b.whoIs(2); (len(replies) == 1) != (c.polling2 == 2) {
			t.Errorf("at %d s: %d replies at polling address 2", c.at, len(replies))
		}
	}
	f.From, f.Until = 0, 0
	name := b.add(f)
	c := *b.devices[1].Config()
	c.Polling = 9 // somebody has cured it
	if err := b.devices[1].Reconfigure(b.line.Now(), c); err != nil {
		t.Fatal(err)
	}
	b.set.Remove(b.line.Now(), name)
	if got := b.devices[1].Polling(); got != 9 {
		t.Errorf("PT-2 is at polling address %d, want 9, which was set meanwhile", got)
	}
}

// Source: Texas Instruments SLAAEH0, section 1.5.3 (0 to 15 in revision 5).
func TestRevision5CannotShareEveryAddress(t *testing.T) {
	line := sim.NewLine(1)
	var members []Member
	for i, revision := range []uint8{5, 7} {
		c := config("PT-"+string(rune('1'+i)), 1)
		if c.Revision = revision; revision == 5 {
			c.Maker, c.Type, c.LongTag = 249, 3, ""
		} else {
			c.Polling = 40
		}
		d, err := device.New(c)
		if err != nil {
			t.Fatal(err)
		}
		members = append(members, Member{d, line.Join(d)})
	}
	s := NewSet(1, line, members)
	_, err := s.Add(0, Fault{Kind: "shared address", Device: "PT-1", Other: "PT-2", Probability: 1})
	want := `with: got "PT-2", want a device at a polling address from 0 to 15, which PT-1 of revision 5 can have: it is at 40`
	if err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}
