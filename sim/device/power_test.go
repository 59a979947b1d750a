package device_test

import (
	"slices"
	"testing"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/transmitter"
)

// Without power a device hears nothing, does nothing and draws nothing, until it
// restarts.
func TestPowerOff(t *testing.T) {
	b := newBench(t, config(7))
	d := b.devices[0]
	b.ask(b.request(0))
	d.PowerOff(b.line.Now())
	d.PowerOff(b.line.Now())
	b.silent("it has no power", b.message(b.request(34, []byte(damping4)...)))
	if got := d.Transmitter().WireCurrentMA(); got != 0 {
		t.Errorf("got %v mA without power, want 0", got)
	}
	d.Restart(b.line.Now())
	if tr := d.Transmitter(); tr.WireCurrentMA() != tr.WantMA() || tr.WantMA() < 4 {
		t.Errorf("got %v mA with power, want %v", tr.WireCurrentMA(), tr.WantMA())
	}
	b.silent("it starts", b.message(b.request(1))[:14])
	if reply := b.ask(b.request(0)); reply.Status.Device&frame.ColdStart == 0 {
		t.Errorf("got status %v, want a cold start", reply.Status.Device.Names())
	}
	b.turns(7, []turn{{15, "", 0, "00 01 0c 42c80000 00000000 3f000000 00 fa 00"}}) // what was written came to nothing
}

// A current that was held for a test is gone with the power: a device that it left
// without voltage would never come back.
func TestPowerOffEndsATest(t *testing.T) {
	b := newBench(t, config(7))
	tr := b.devices[0].Transmitter()
	before := tr.WantMA()
	b.turns(7, []turn{{40, "41a00000", 0, "="}})
	if got := tr.WantMA(); got != 20 {
		t.Fatalf("got %v mA, want 20", got)
	}
	b.devices[0].PowerOff(b.line.Now())
	if got := tr.WantMA(); got != before {
		t.Errorf("without power, got a wanted current of %v mA, want %v", got, before)
	}
}

// A reset by command is no loss of power.
func TestResetKeepsThePower(t *testing.T) {
	b := newBench(t, config(7))
	b.turns(7, []turn{{42, "", 0, ""}})
	if got := b.devices[0].Transmitter().WireCurrentMA(); got < 4 {
		t.Errorf("got %v mA behind a reset", got)
	}
}

// Totals that were added up since they were kept last are gone with the power, and none
// are kept without it.
func TestPowerOffAndTotals(t *testing.T) {
	s := &shelf{}
	b := keeping(t, s, flowing(s))
	b.line.Run(19 * sim.Second)
	d := b.devices[0]
	if len(s.kept) != 1 {
		t.Fatalf("kept %d times in 19 s, want once", len(s.kept))
	}
	kept := s.kept[0].Totals.Totals
	total := func(what string, now sim.Tick, want transmitter.Totals) {
		t.Helper()
		d.Transmitter().To(now)
		if got := d.Transmitter().Totals(); got != want {
			t.Errorf("%s: got %+v, want %+v", what, got, want)
		}
	}
	d.PowerOff(19 * sim.Second)
	total("without power", 19*sim.Second, kept)
	b.line.Run(300 * sim.Second)
	total("without power for long", 300*sim.Second, kept)
	if len(s.kept) != 1 {
		t.Errorf("kept %d times without power", len(s.kept)-1)
	}
	d.Restart(300 * sim.Second)
	total("with power", 300*sim.Second, kept)
	b.listen(10 * sim.Second)
	d.Transmitter().To(310 * sim.Second)
	if got := d.Transmitter().Totals().Net; got <= kept.Net {
		t.Errorf("the total stays at %v", got)
	}
}

// Without power a delayed write is not carried out, and a reply does not wait.
func TestPowerOffWhileSomethingWaits(t *testing.T) {
	c := config(7)
	c.WriteTime = 5 * sim.Second
	b := newBench(t, c)
	b.turns(7, []turn{{34, damping4hex, 33, ""}})
	b.devices[0].PowerOff(b.line.Now())
	b.line.Run(b.line.Now() + 20*sim.Second)
	if got := b.devices[0].Transmitter().Config().DampingS; got != 0.5 {
		t.Errorf("got a damping of %v s, want 0.5 as before", got)
	}
	b.devices[0].Restart(b.line.Now())
	b.line.Run(b.line.Now() + 10*sim.Second)
	b.turns(7, []turn{{34, damping4hex, 33, ""}}) // it is asked for the first time

	s := &shelf{takes: 200 * sim.Millisecond}
	b = keeping(t, s, config(7))
	p := &probe{burst: &sim.Burst{Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: b.message(b.request(34, []byte(damping4)...))}}
	b.line.Join(p)
	b.line.Run(p.burst.Off() + 100*sim.Millisecond)
	b.devices[0].PowerOff(b.line.Now())
	b.line.Run(5 * sim.Second)
	b.devices[0].Restart(b.line.Now())
	b.line.Run(8 * sim.Second)
	if len(p.heard) != 0 {
		t.Errorf("heard %+v, want the reply to be dropped", p.heard)
	}
	b.turns(7, []turn{{15, "", 0, "00 01 0c 42c80000 00000000 40800000 00 fa 00"}}) // the store had it
}

// A device in burst mode that lost its power while another one's carrier was on, or off,
// knows what is on the line when it is back.
func TestPowerOffInBurstMode(t *testing.T) {
	for _, lost := range []sim.Tick{0, 20*sim.Second + sim.Second/2} { // the carrier comes and goes then, or goes
		b := newBench(t, publishing(5, device.Publication{Command: 1}))
		b.line.Join(&probe{burst: &sim.Burst{At: 20 * sim.Second, Tail: sim.Second, Chars: make([]byte, 20)}})
		if lost == 0 {
			b.devices[0].PowerOff(0)
			b.silent("it has no power", b.message(b.request(1)))
		}
		b.line.Run(max(lost, b.line.Now()))
		b.devices[0].PowerOff(b.line.Now())
		if heard := b.listen(20 * sim.Second); slices.ContainsFunc(heard, isBACK) {
			t.Errorf("heard %+v without power", heard)
		}
		b.devices[0].Restart(b.line.Now())
		b.line.Seats()[0].Wake()
		if got := len(b.listen(10 * sim.Second)); got < 25 {
			t.Errorf("lost at %v: %d messages in 10 s behind a restart, want one every 31 characters", lost.Duration(), got)
		}
	}
}
