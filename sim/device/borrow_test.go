package device_test

import (
	"errors"
	"testing"

	"looptone/sim"
	"looptone/sim/device"
)

// A device answers where it is wired wrongly to, and tells that address; its masters
// are told of no change, and nothing of it is kept.
func TestBorrowedPollingAddress(t *testing.T) {
	s := &shelf{}
	b := keeping(t, s, config(7))
	d := b.devices[0]
	if err := d.Borrow(b.line.Now(), 5); err != nil {
		t.Fatal(err)
	}
	if len(b.identify(0)) != 0 || len(b.identify(5)) != 1 || d.Polling() != 5 {
		t.Errorf("polling address %d, want it to answer at 5 alone", d.Polling())
	}
	b.turns(7, []turn{{7, "", 0, "05 01"}, {34, damping4hex, 0, "="}})
	if n, _ := b.changes(); n != 1 {
		t.Errorf("counter %d, want 1 for the damping", n)
	}
	d.Restart(b.line.Now())
	b.line.Run(b.line.Now() + 2*sim.Second)
	if d.Polling() != 5 {
		t.Errorf("polling address %d after a restart, want 5 as before", d.Polling())
	}
	if m := s.kept[len(s.kept)-1]; m.Polling != nil || m.Borrowed != nil || m.DampingS == nil {
		t.Errorf("kept %+v, want the damping and no polling address", m)
	}
	d.Return(b.line.Now())
	if len(b.identify(5)) != 0 || len(b.identify(0)) != 1 {
		t.Errorf("polling address %d, want it to answer at 0 alone", d.Polling())
	}
	d.Return(b.line.Now())

	err := d.Borrow(b.line.Now(), 64)
	if want := "polling: got 64, want 0 to 63, as revision 7 has them"; err == nil || err.Error() != want || d.Polling() != 0 {
		t.Errorf("got  %v\nwant %s, and the address as before", err, want)
	}
}

// Source: Siemens Pointek CLS500 7ML19985GG03 p.30 (multidrop devices are parked at
// 4 mA).
func TestBorrowedPollingAddressParks(t *testing.T) {
	b := newBench(t, config(5))
	d := b.devices[0]
	b.turns(5, []turn{{40, "41800000", 0, "="}})
	for _, polling := range []uint8{3, 0} {
		if err := d.Borrow(0, polling); err != nil {
			t.Fatal(err)
		}
		if got, want := d.Transmitter().LoopCurrentMA(), map[uint8]float64{3: 4, 0: 12}[polling]; got != want {
			t.Errorf("at %d: got %v mA, want %v", polling, got, want)
		}
	}
}

// Whoever gives the device an address, over the line or at its keypad, ends it.
func TestBorrowedPollingAddressIsWritten(t *testing.T) {
	for _, tt := range []struct {
		name  string
		write func(b *bench)
		want  uint8
	}{
		{"command 6", func(b *bench) { b.turns(7, []turn{{6, "09 01", 0, "="}}) }, 9},
		{"command 6, the same address", func(b *bench) { b.turns(7, []turn{{6, "05 01", 0, "="}}) }, 5},
		{"keypad", func(b *bench) { b.mustReconfigure(func(c *device.Config) { c.Polling = 3 }) }, 3},
		{"keypad, as it is described", func(b *bench) { _ = b.devices[0].Forget(b.line.Now(), "polling") }, 0},
		{"command 17", func(b *bench) { b.ask(b.request(17, make([]byte, 24)...)) }, 5},
	} {
		b := newBench(t, config(7))
		d := b.devices[0]
		if err := d.Borrow(b.line.Now(), 5); err != nil {
			t.Fatal(err)
		}
		tt.write(b)
		if d.Polling() != tt.want {
			t.Errorf("%s: at %d, want %d", tt.name, d.Polling(), tt.want)
		}
		want := tt.want
		if d.Return(b.line.Now()); tt.name == "command 17" {
			want = 0
		}
		if d.Polling() != want {
			t.Errorf("%s: at %d when it is given back, want %d", tt.name, d.Polling(), want)
		}
	}
}

// It is returned, too, when a write of before could not be kept.
func TestBorrowedPollingAddressDuringAWriteThatCannotBeKept(t *testing.T) {
	s := &shelf{takes: 3 * sim.Second, err: errors.New("disk full")}
	b := keeping(t, s, config(7))
	d := b.devices[0]
	_ = d.Borrow(b.line.Now(), 5)
	b.silent("a write that takes too long to keep", b.message(b.request(34, []byte(damping4)...)))
	d.Return(b.line.Now())
	b.line.Run(b.line.Now() + 5*sim.Second)
	if d.Polling() != 0 {
		t.Errorf("at %d, want 0", d.Polling())
	}
}
