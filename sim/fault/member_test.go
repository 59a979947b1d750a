package fault

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"looptone/sim"
)

// carries fails where the loop carries a current of a device that has no power, or none
// of one that has.
func (b *bench) carries(what string, who string) {
	b.Helper()
	got := ""
	for i, d := range b.devices {
		d.Transmitter().To(b.line.Now())
		switch ma := d.Transmitter().WireCurrentMA(); {
		case ma >= 3.8:
			got += string(rune('1' + i))
		case ma != 0:
			b.Errorf("%s: device %d draws %v mA", what, i+1, ma)
		}
	}
	if got != who {
		b.Errorf("%s: devices %s draw a current, want %s", what, got, who)
	}
}

// A device that a restart or a line cut has off the wires carries no current.
func TestNoCurrentWithoutPower(t *testing.T) {
	b := newBench(t, 1, "PT-1", "PT-2", "PT-3")
	b.carries("at first", "123")
	f := on("PT-1", "restart", map[string]float64{"every_s": 1000, "down_s": 5})
	f.From, f.Count = 10*sim.Second, 1
	b.add(f)
	b.add(Fault{Kind: "line cut", Probability: 1, Other: "PT-2", From: 12 * sim.Second, Until: 14 * sim.Second})
	for _, c := range []struct {
		at  sim.Tick
		who string
	}{{9, "123"}, {11, "23"}, {13, "2"}, {14, "23"}, {16, "123"}} {
		b.line.Run(c.at*sim.Second + sim.Millisecond)
		b.carries(fmt.Sprint("at ", c.at, " s"), c.who)
		for i, tag := range []string{"PT-1", "PT-2", "PT-3"} {
			if got, want := b.set.Off(tag), !strings.Contains(c.who, string(rune('1'+i))); got != want {
				t.Errorf("at %d s: %s is off: %v, want %v", c.at, tag, got, want)
			}
		}
	}
}

func TestLackOfVoltage(t *testing.T) {
	b := newBench(t, 1, "PT-1", "PT-2")
	b.whoIs(1)
	b.whoIs(2)
	for range 2 { // the same reason twice is one
		b.set.Power(b.line.Now(), "PT-2", false)
	}
	b.set.Power(b.line.Now(), "PT-9", false)
	b.carries("too little voltage", "1")
	if b.set.Off("PT-2") || b.set.Off("PT-9") {
		t.Error("lack of voltage counts as a fault")
	}
	if len(b.whoIs(2)) != 0 || len(b.whoIs(1)) != 1 {
		t.Error("the dark device answers, or the other one does not")
	}
	for range 2 {
		b.set.Power(b.line.Now(), "PT-2", true)
	}
	b.carries("voltage enough", "12")
	b.line.Run(b.line.Now() + 3*sim.Second)
	if !b.coldStart(2) || b.coldStart(2) || b.coldStart(1) {
		t.Error("who was dark tells a cold start once, and nobody else does")
	}
	b.set.Power(b.line.Now(), "PT-1", true) // which it had
	if b.coldStart(1) {
		t.Error("a device that had power all the time has started anew")
	}
}

// A dark device does not babble.
func TestNobodyBabblesInTheDark(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	b.set.Power(0, "PT-1", false)
	b.add(on("PT-1", "babble", map[string]float64{"every_s": 1}))
	b.line.Run(100 * sim.Second)
	if len(b.log) > 0 {
		t.Errorf("%d bursts of a dark device", len(b.log))
	}
	b.set.Power(b.line.Now(), "PT-1", true)
	b.line.Run(200 * sim.Second)
	if len(b.log) < 20 {
		t.Errorf("%d bursts in 100 s with power again", len(b.log))
	}
}

// Cuts go along a tree:
//
//	supply ── 1 ──┬── 2 ── 3
//	              └── 4 ── 5
func TestCutAlongATree(t *testing.T) {
	tags := []string{"PT-1", "PT-2", "PT-3", "PT-4", "PT-5"}
	b := newBench(t, 1, tags...)
	above := map[string]string{"PT-2": "PT-1", "PT-3": "PT-2", "PT-4": "PT-1", "PT-5": "PT-4"}
	behind := func(tag, other string) bool {
		for at := tag; at != ""; at = above[at] { // nobody is to ask whether one hangs behind itself
			if at == other {
				return true
			}
		}
		return false
	}
	cuts := map[string]string{}
	cut := func(other string) {
		cuts[other] = b.add(Fault{Kind: "line cut", Probability: 1, Other: other})
	}
	mend := func(other string) { b.set.Remove(b.line.Now(), cuts[other]) }
	cut("PT-2")
	b.carries("in a row", "12")
	b.set.Wire(b.line.Now(), behind)
	b.carries("as a tree", "1245")
	cut("PT-4")
	b.carries("both branches", "124")
	mend("PT-2")
	b.carries("one branch", "1234")
	cut("PT-1")
	b.carries("behind the first", "1")
	mend("PT-4")
	mend("PT-1")
	b.carries("whole", "12345")
	cut("")
	b.carries("in front of all", "")
	mend("")
	cut("PT-4")
	above["PT-3"] = "PT-5"
	if !b.set.Move(b.line.Now(), "PT-3", "PT-5") {
		t.Error("PT-3 cannot move behind PT-5")
	}
	b.carries("PT-3 behind the cut", "124")
	if got := b.set.tags(); !slices.Equal(got, []string{"PT-1", "PT-2", "PT-4", "PT-5", "PT-3"}) {
		t.Errorf("the order is %v", got)
	}
	b.set.Wire(b.line.Now(), nil)
	b.carries("in a row again", "124")
	mend("PT-4")
	b.line.Run(b.line.Now() + 3*sim.Second)
	b.carries("mended", "12345")
}

// A ledger counts by itself what keeps devices off the wires.
type ledger struct {
	*bench
	low    map[string]bool
	cuts   map[string]string   // the tag that a cut is behind, by the name of the fault
	until  map[string]sim.Tick // a restart is over
	off    map[string]bool
	starts map[string]int
}

// settle holds the devices against the ledger.
func (l *ledger) settle(t *rapid.T, what string) {
	for i, tag := range l.set.tags() {
		fault := l.line.Now() < l.until[tag]
		for _, behind := range l.cuts {
			fault = fault || behind < tag // they hang in the order of their tags
		}
		off := fault || l.low[tag]
		if l.off[tag] && !off {
			l.starts[tag]++
		}
		l.off[tag] = off
		l.devices[i].Transmitter().To(l.line.Now())
		if dark := l.devices[i].Transmitter().WireCurrentMA() == 0; dark != off || l.set.Off(tag) != fault {
			t.Fatalf("%s: %s is dark: %v, want %v; a fault has it off: %v, want %v", what, tag, dark, off, l.set.Off(tag), fault)
		}
	}
}

// does does something to the power of a device, or of those behind it.
func (l *ledger) does(t *rapid.T, what, tag string) {
	switch what {
	case "low", "enough":
		l.low[tag] = what == "low"
		l.set.Power(l.line.Now(), tag, what == "enough")
	case "cut":
		l.cuts[l.add(Fault{Kind: "line cut", Probability: 1, Other: tag})] = tag
	case "cut in front":
		l.cuts[l.add(Fault{Kind: "line cut", Probability: 1})] = ""
	case "mend":
		if i := slices.IndexFunc(l.set.Names(), func(name string) bool { return strings.HasPrefix(name, "line cut") }); i >= 0 {
			delete(l.cuts, l.set.Names()[i])
			l.set.Remove(l.line.Now(), l.set.Names()[i])
		}
	case "restart":
		f := on(tag, "restart", map[string]float64{"every_s": 1000, "down_s": 2})
		f.From, f.Count = l.line.Now()+sim.Millisecond, 1
		l.add(f)
		l.until[tag] = f.From + 2*sim.Second
		l.line.Run(f.From)
	case "wait":
		for range 15 { // nothing comes up unseen
			l.line.Run(l.line.Now() + sim.Second/10)
			l.settle(t, what)
		}
	}
	l.settle(t, what)
}

// Whatever takes the power from a device, in whatever order it comes and goes: the device
// is off the wires while something does, and comes up anew when the last of it is gone.
func TestReasonsForNoPower(t *testing.T) {
	tags := []string{"PT-1", "PT-2", "PT-3"}
	starts := 0
	rapid.Check(t, func(rt *rapid.T) {
		l := &ledger{newBench(t, 1, tags...), map[string]bool{}, map[string]string{}, map[string]sim.Tick{}, map[string]bool{}, map[string]int{}}
		if got := l.there(); got != "123" { // and their first cold start is told
			rt.Fatalf("devices %s answer", got)
		}
		for range rapid.IntRange(1, 25).Draw(rt, "steps") {
			l.does(rt, rapid.SampledFrom([]string{"low", "enough", "cut", "cut in front", "mend", "restart", "wait"}).Draw(rt, "what"),
				rapid.SampledFrom(tags).Draw(rt, "tag"))
		}
		l.does(rt, "wait", "")
		l.does(rt, "wait", "")
		for i, tag := range tags {
			if replies := l.whoIs(uint8(i + 1)); (len(replies) == 0) != l.off[tag] {
				rt.Fatalf("%s: %d replies, off: %v", tag, len(replies), l.off[tag])
			} else if len(replies) > 0 && (replies[0].Event.Frame.Status.Device&0x20 != 0) != (l.starts[tag] > 0) {
				rt.Fatalf("%s started %d times, and tells the status %02x", tag, l.starts[tag], replies[0].Event.Frame.Status.Device)
			}
			starts += l.starts[tag]
		}
	})
	if starts < 20 { // chance decides how many
		t.Errorf("%d starts in all", starts)
	}
}
