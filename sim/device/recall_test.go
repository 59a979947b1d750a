package device_test

import (
	"testing"

	"looptone/sim/device"
	"looptone/sim/transmitter"
)

// What was forgotten counts again, unless something else was written since; what was
// never forgotten stays as it is.
func TestRecall(t *testing.T) {
	damping, polling := 9.0, uint8(7)
	c := config(7)
	c.Transmitter.DampingS = 0
	c.Memory = device.Memory{Polling: &polling, DampingS: &damping}
	b := newBench(t, c)
	d := b.devices[0]
	before := d.Past()
	if err := d.Forget(b.line.Now(), "damping_s"); err != nil {
		t.Fatal(err)
	}
	if got := d.Transmitter().Config().DampingS; got != 0 {
		t.Fatalf("forgotten: got %v s", got)
	}
	after := d.Past()
	if err := d.Recall(b.line.Now(), before, after); err != nil {
		t.Fatal(err)
	}
	if got := d.Transmitter().Config().DampingS; got != 9 || d.Polling() != 7 {
		t.Errorf("got %v s at polling address %d, want 9 s at 7", got, d.Polling())
	}
	_ = d.Forget(b.line.Now(), "damping_s")
	b.turns(7, []turn{{34, "40800000", 0, "="}})
	if err := d.Recall(b.line.Now(), before, after); err != nil || d.Transmitter().Config().DampingS != 4 {
		t.Errorf("got %v s, %v, want the 4 s that were written since", d.Transmitter().Config().DampingS, err)
	}
}

// A current that was held for a test, and let go at the device, is held again.
func TestRecallFixedCurrent(t *testing.T) {
	c := config(7)
	c.Transmitter.Current.Mode, c.Transmitter.Current.HeldMA = transmitter.Fixed, 18
	b := newBench(t, c)
	d := b.devices[0]
	b.turns(7, []turn{{40, "41200000", 0, "="}})
	before := d.Past()
	if err := d.Forget(b.line.Now(), "output"); err != nil || d.Transmitter().LoopCurrentMA() != 18 {
		t.Fatalf("got %v mA, %v, want 18", d.Transmitter().LoopCurrentMA(), err)
	}
	if err := d.Recall(b.line.Now(), before, d.Past()); err != nil || d.Transmitter().LoopCurrentMA() != 10 {
		t.Errorf("got %v mA, %v, want 10", d.Transmitter().LoopCurrentMA(), err)
	}
}
