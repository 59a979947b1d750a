package fault

import (
	"testing"

	"looptone/sim"
)

// A fault that is removed before its time never begins, and nothing of any fault
// is left on the line.
func TestRemovedBeforeItsTime(t *testing.T) {
	b := newBench(t, 1, "PT-1", "PT-2")
	f := on("PT-2", "shared address", nil)
	f.Other, f.From, f.Until = "PT-1", 10*sim.Second, 30*sim.Second
	b.set.Remove(0, b.add(f))
	b.line.Run(20 * sim.Second)
	if got := b.devices[1].Polling(); got != 2 {
		t.Errorf("PT-2 is at polling address %d, want its own", got)
	}
	b = newBench(t, 1)
	for _, k := range Kinds() {
		if k.Strikes == "device" || k.Other != "" {
			continue
		}
		for _, from := range []sim.Tick{0, 10 * sim.Second} {
			b.add(Fault{Kind: k.Name, Probability: 1, From: b.line.Now() + from, Until: b.line.Now() + 20*sim.Second})
		}
	}
	b.line.Run(sim.Second)
	for _, name := range b.set.Names() {
		b.set.Remove(b.line.Now(), name)
	}
	b.line.Run(5 * sim.Second) // a burst that has begun goes on
	if next := b.line.Next(); next != sim.Never {
		t.Errorf("something is to happen at %v", next.Duration())
	}
}

// there is which of three devices answer.
func (b *bench) there() (who string) {
	b.Helper()
	for i := range b.devices {
		if len(b.whoIs(uint8(i+1))) == 1 {
			who += string(rune('1' + i))
		}
	}
	return who
}

func TestLineCut(t *testing.T) {
	b := newBench(t, 1, "PT-1", "PT-2", "PT-3")
	want := func(what, who string) {
		t.Helper()
		b.line.Run(b.line.Now() + 5*sim.Second)
		if got := b.there(); got != who {
			t.Errorf("%s: devices %s answer, want %s", what, got, who)
		}
	}
	want("whole", "123")
	first := b.add(Fault{Kind: "line cut", Probability: 1, Other: "PT-2"})
	want("cut behind PT-2", "12")
	second := b.add(Fault{Kind: "line cut", Probability: 1, Other: "PT-1"})
	want("cut behind PT-1 too", "1")
	third := b.add(Fault{Kind: "line cut", Probability: 1, Other: "PT-3"})
	want("cut behind PT-3 too", "1")
	b.set.Remove(b.line.Now(), third)
	b.set.Remove(b.line.Now(), second)
	want("mended behind PT-1", "12")
	if !b.set.Move(b.line.Now(), "PT-3", "") {
		t.Error("PT-3 cannot move to the first place")
	}
	want("PT-3 at the first place", "123")
	if !b.set.Move(b.line.Now(), "PT-1", "PT-2") {
		t.Error("PT-1 cannot move behind PT-2")
	}
	want("PT-1 behind PT-2", "23")
	for _, c := range [][2]string{{"PT-9", ""}, {"PT-1", "PT-9"}, {"PT-1", "PT-1"}} {
		if b.set.Move(b.line.Now(), c[0], c[1]) {
			t.Errorf("%q can move behind %q", c[0], c[1])
		}
	}
	all := b.add(always("line cut", nil))
	want("cut in front of all", "")
	b.set.Remove(b.line.Now(), all)
	want("mended in front of all", "23")
	b.whoIs(2)
	b.set.Remove(b.line.Now(), first)
	b.line.Run(b.line.Now() + 5*sim.Second)
	if b.coldStart(2) || !b.coldStart(1) {
		t.Error("who was cut off has a cold start, and nobody else")
	}
}
