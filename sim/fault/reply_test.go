package fault

import (
	"testing"

	"looptone/sim"
	"looptone/sim/device"
)

// responseTime is how long after a request of a master the reply begins.
func (b *bench) responseTime(polling uint8) sim.Tick {
	b.Helper()
	replies := b.whoIs(polling)
	if len(replies) != 1 {
		b.Fatalf("%d replies, want one", len(replies))
	}
	asked := &b.log[len(b.log)-2]
	return replies[0].Begin - asked.Start(len(asked.Chars))
}

func TestLateReply(t *testing.T) {
	b := newBench(t, 1, "PT-1", "PT-2")
	b.add(on("PT-1", "late reply", map[string]float64{"delay_chars": 10}))
	b.add(on("PT-1", "late reply", map[string]float64{"delay_chars": 20.5}))
	const latency = 50 * sim.Millisecond
	if got, want := b.responseTime(1), latency+30*sim.Character+sim.Character/2; got != want {
		t.Errorf("PT-1 replies after %v, want %v", got.Duration(), want.Duration())
	}
	if got := b.responseTime(2); got != latency {
		t.Errorf("PT-2 replies after %v, want %v", got.Duration(), latency.Duration())
	}
}

func TestNoReply(t *testing.T) {
	b := newBench(t, 1, "PT-1", "PT-2")
	f := on("PT-1", "no reply", nil)
	f.Count = 2
	b.add(f)
	for i, want := range []int{0, 0, 1} {
		if got := len(b.whoIs(1)); got != want {
			t.Errorf("request %d: %d replies, want %d", i, got, want)
		}
		if got := len(b.whoIs(2)); got != 1 {
			t.Errorf("request %d to the other device: %d replies", i, got)
		}
	}
}

// Source: FieldComm Group support article 8000090586 (32: busy).
func TestBusy(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	b.add(on("PT-1", "busy", nil))
	replies := b.whoIs(1)
	if len(replies) != 1 {
		t.Fatalf("%d replies, want one", len(replies))
	}
	if code, ok := replies[0].Event.Frame.Status.Response.Code(); !ok || code != 32 {
		t.Errorf("response code %d, want 32", code)
	}
}

// What is wrong with a request is the sum of what its faults do; those of writes
// leave other requests alone.
func TestTroublesAddUp(t *testing.T) {
	b := newBench(t, 1, "PT-1", "PT-2")
	for _, f := range []Fault{
		on("PT-1", "delayed response", map[string]float64{"write_ms": 3000}),
		on("PT-1", "late reply", map[string]float64{"delay_chars": 2}),
		on("PT-1", "delayed response", map[string]float64{"write_ms": 2000}),
		on("PT-1", "busy", nil), on("PT-1", "no reply", nil),
	} {
		b.add(f)
	}
	late := 2 * sim.Character
	if got, want := b.set.Trouble("PT-1")(0, false), (device.Trouble{Delay: late, Silent: true, Busy: true}); got != want {
		t.Errorf("reading: %+v, want %+v", got, want)
	}
	want := device.Trouble{Delay: late, Silent: true, Busy: true, WriteTime: 3 * sim.Second}
	if got := b.set.Trouble("PT-1")(0, true); got != want {
		t.Errorf("writing: %+v, want %+v", got, want)
	}
	for _, tag := range []string{"PT-2", "PT-9"} {
		if got := b.set.Trouble(tag)(0, true); got != (device.Trouble{}) {
			t.Errorf("%s: %+v, want nothing wrong", tag, got)
		}
	}
	for _, name := range b.set.Names() {
		b.set.Remove(0, name)
	}
	if got := b.set.Trouble("PT-1")(0, true); got != (device.Trouble{}) {
		t.Errorf("without faults: %+v, want nothing wrong", got)
	}
}

func TestTroubleByChance(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	f := on("PT-1", "no reply", nil)
	f.Probability = 0.25
	b.add(f)
	silent, trouble := 0, b.set.Trouble("PT-1")
	const n = 20_000
	for i := range n {
		if trouble(sim.Tick(i), false).Silent {
			silent++
		}
	}
	binomial(t, "silent", silent, n, 0.25)
}
