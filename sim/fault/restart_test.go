package fault

import (
	"testing"

	"looptone/frame"
	"looptone/sim"
)

// coldStart tells whether the reply to command 0 tells a cold start.
//
// Source: Allen-Bradley 1794-UM063A, p.C-6 (20 hex: set after power-up, cleared by
// the first command that reports it).
func (b *bench) coldStart(polling uint8) bool {
	b.Helper()
	replies := b.whoIs(polling)
	if len(replies) != 1 {
		b.Fatalf("%d replies, want one", len(replies))
	}
	return replies[0].Event.Frame.Status.Device&0x20 != 0
}

func TestRestartAtATime(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	b.whoIs(1)
	if b.coldStart(1) {
		t.Fatal("a cold start was told twice")
	}
	f := on("PT-1", "restart", map[string]float64{"every_s": 1000, "down_s": 5})
	f.From, f.Count = 12*sim.Second, 1
	b.add(f)
	b.line.Run(11 * sim.Second)
	if len(b.whoIs(1)) != 1 { // asked at 11 s, answered before 12 s
		t.Error("the device is gone before its time")
	}
	b.line.Run(16 * sim.Second)
	if got := len(b.whoIs(1)); got != 0 {
		t.Errorf("%d replies of a device without power", got)
	}
	b.line.Run(25 * sim.Second)
	if !b.coldStart(1) || b.coldStart(1) {
		t.Error("behind a restart, a cold start is told once")
	}
	b.line.Run(2020 * sim.Second)
	if b.coldStart(1) {
		t.Error("the device restarted more often than it should")
	}
}

func TestRestartEverySoOften(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	b.add(on("PT-1", "restart", map[string]float64{"every_s": 60, "down_s": 1}))
	b.line.Run(1000*sim.Second + sim.Second/2)
	f := b.set.faults[0]
	if f.struck != 16 { // at 60, 120 … 960 s
		t.Errorf("%d restarts in 1000 s, want 16", f.struck)
	}
	b.set.Remove(b.line.Now(), b.set.Names()[0])
	b.line.Run(2000 * sim.Second)
	if f.struck != 16 {
		t.Errorf("%d restarts of a fault that was removed", f.struck-16)
	}
}

// The times go on from now where from is over, and pass a device that is down.
func TestRestartsThatAreLong(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	b.line.Run(100 * sim.Second)
	f := on("PT-1", "restart", map[string]float64{"every_s": 10, "down_s": 25})
	f.From = 50 * sim.Second
	b.add(f)
	for _, c := range []struct {
		at     sim.Tick
		struck int
	}{{105, 0}, {115, 1}, {139, 1}, {141, 2}, {169, 2}, {171, 3}} {
		b.line.Run(c.at * sim.Second)
		if got := b.set.faults[0].struck; got != c.struck || b.set.members[0].off > 1 {
			t.Errorf("at %d s: %d restarts, want %d", c.at, got, c.struck)
		}
	}
}

// A device that loses its power over a request does not reply, however soon it is
// back.
func TestShortRestartSwallowsTheReply(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	b.add(on("PT-1", "restart", map[string]float64{"down_s": 0.001}))
	if got := len(b.whoIs(1)); got != 0 {
		t.Errorf("%d replies, want none", got)
	}
}

// Nor does one that loses it before its reply is on the wires.
func TestShortRestartBeforeTheReply(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	f := on("PT-1", "restart", map[string]float64{"every_s": 1000, "down_s": 0.001})
	f.From = 120 * sim.Millisecond // the request ends at 96 ms, its reply would begin at 142 ms
	b.add(f)
	if got := len(b.whoIs(1)); got != 0 {
		t.Errorf("%d replies, want none", got)
	}
}

// What it is asked when it loses its power it does not do.
func TestRestartInsteadOfAWrite(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	name := b.add(on("PT-1", "restart", map[string]float64{"down_s": 1}))
	f := frame.Frame{Kind: frame.STX, Address: b.devices[0].Config().Unique(), Primary: true, Command: 34, Data: []byte{0x40, 0x80, 0, 0}}
	chars, err := f.AppendBinary(frame.AppendPreambles(nil, 5))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []float64{0, 4} {
		b.say("primary master", chars)
		b.line.Run(b.line.Now() + 5*sim.Second)
		if got := b.devices[0].Transmitter().Config().DampingS; got != want {
			t.Errorf("got a damping of %v s, want %v", got, want)
		}
		b.set.Remove(b.line.Now(), name)
	}
}

func TestRestartByChanceAndItsRemoval(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	b.whoIs(1)
	name := b.add(on("PT-1", "restart", map[string]float64{"down_s": 600}))
	for range 2 {
		if len(b.whoIs(1)) != 0 {
			t.Error("a device answers that has lost its power")
		}
	}
	if !b.set.Remove(b.line.Now(), name) {
		t.Fatal("the fault is gone")
	}
	b.line.Run(b.line.Now() + 10*sim.Second)
	if !b.coldStart(1) {
		t.Error("a device whose fault was removed has not come up anew")
	}
	b.line.Run(b.line.Now() + 1000*sim.Second)
	if b.coldStart(1) {
		t.Error("it comes up once more when its time is over")
	}
}

// Two faults keep a device off the wires until both are over.
func TestRestartBehindACut(t *testing.T) {
	b := newBench(t, 1, "PT-1", "PT-2")
	b.add(Fault{Kind: "line cut", Probability: 1, Other: "PT-1", Until: 20 * sim.Second})
	f := on("PT-2", "restart", map[string]float64{"every_s": 1000, "down_s": 30})
	f.From = 5 * sim.Second
	b.add(f)
	for _, c := range []struct {
		at   sim.Tick
		want int
	}{{25, 0}, {45, 1}} {
		b.line.Run(c.at * sim.Second)
		if got := len(b.whoIs(2)); got != c.want {
			t.Errorf("at %d s: %d replies, want %d", c.at, got, c.want)
		}
	}
}
