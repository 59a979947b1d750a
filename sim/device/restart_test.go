package device_test

import (
	"errors"
	"testing"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/transmitter"
)

// Source: Allen-Bradley 1794-UM063A p.C-6 (cold start after a loss of power).
func TestRestart(t *testing.T) {
	b := newBench(t, config(7))
	b.turns(7, []turn{
		{34, damping4hex, 0, "="},
		{40, "41800000", 0, "="},
		{79, "00 01 0c 42c80000 c0", 0, "="},
	})
	b.devices[0].Restart(b.line.Now())
	b.silent("it starts", b.message(b.request(1))[:14])
	if reply := b.ask(b.request(1)); reply.Status.Device&frame.ColdStart == 0 || reply.Status.Device&frame.LoopCurrentFixed != 0 {
		t.Errorf("got status %v, want a cold start and a current that is not held", reply.Status.Device.Names())
	}
	b.turns(7, []turn{
		{1, "", 0, "0c 41c80000"}, // what is measured
		{15, "", 0, "00 01 0c 42c80000 00000000 40800000 00 fa 00"},
		{95, "", 0, "0004 0003 0000"}, // counted from the start on
	})
}

// For a second the device hears nothing.
func TestRestartTakesTime(t *testing.T) {
	b := newBench(t, config(7))
	b.devices[0].Restart(0)
	b.silent("it starts", b.message(b.request(1)))
	b.line.Run(3 * sim.Second)
	b.ask(b.request(1))
}

// A fixed current that the description has is there again.
func TestRestartHoldsWhatIsDescribed(t *testing.T) {
	c := config(7)
	c.Transmitter.Current.Mode, c.Transmitter.Current.HeldMA = transmitter.Fixed, 18
	b := newBench(t, c)
	b.turns(7, []turn{{40, "41800000", 0, "="}})
	b.devices[0].Restart(b.line.Now())
	if got := b.devices[0].Transmitter().LoopCurrentMA(); got != 18 {
		t.Errorf("got %v mA, want 18", got)
	}
}

// A delayed response and a reply that waits for the store are gone.
func TestRestartDropsWhatWaits(t *testing.T) {
	c := config(7)
	c.WriteTime = 5 * sim.Second
	b := newBench(t, c)
	b.turns(7, []turn{{34, damping4hex, 33, ""}})
	b.devices[0].Restart(b.line.Now())
	b.line.Run(b.line.Now() + 10*sim.Second)
	b.turns(7, []turn{{15, "", 0, "00 01 0c 42c80000 00000000 3f000000 00 fa 00"}, {34, damping4hex, 33, ""}})

	s := &shelf{takes: 200 * sim.Millisecond}
	b = keeping(t, s, config(7))
	p := &probe{burst: &sim.Burst{Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: b.message(b.request(34, []byte(damping4)...))}}
	b.line.Join(p)
	b.line.Run(p.burst.Off() + 100*sim.Millisecond)
	b.devices[0].Restart(b.line.Now())
	b.line.Run(5 * sim.Second)
	if len(p.heard) != 0 {
		t.Errorf("heard %+v, want the reply to be dropped", p.heard)
	}
	b.turns(7, []turn{{15, "", 0, "00 01 0c 42c80000 00000000 40800000 00 fa 00"}}) // the store had it
}

// A reply that is on the line when the power fails is not overwritten.
func TestRestartWhileAReplyIsOnTheLine(t *testing.T) {
	b := newBench(t, publishing(7, device.Publication{Command: 9}))
	p := &probe{burst: &sim.Burst{Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: b.message(b.request(9, 0, 1, 2, 3, 4, 5, 6, 7))}}
	b.line.Join(p)
	off := p.burst.Off()
	b.line.Run(off + 300*sim.Millisecond)
	b.devices[0].Restart(b.line.Now())
	b.line.Run(off + 10*sim.Second)
	if len(p.heard) < 3 || p.heard[0].Event.Frame.Kind != frame.ACK {
		t.Fatalf("heard %+v, want the reply and messages", p.heard)
	}
	for _, h := range p.heard {
		if h.Event.Outcome != frame.Whole {
			t.Errorf("heard %+v, want whole frames", h.Event)
		}
	}
}

// A memory that could not be written is not known to be bad when the power comes back.
func TestRestartForgetsAMalfunction(t *testing.T) {
	s := &shelf{err: errors.New("disk full")}
	b := keeping(t, s, config(7))
	b.turns(7, []turn{{34, damping4hex, 6, ""}})
	for _, want := range []bool{true, false} {
		if got := b.ask(b.request(1)).Status.Device&frame.DeviceMalfunction != 0; got != want {
			t.Errorf("malfunction %t, want %t", got, want)
		}
		b.devices[0].Restart(b.line.Now())
		b.line.Run(b.line.Now() + 2*sim.Second)
	}
}

// What was added up since the totals were kept last is lost with the power.
func TestRestartLosesWhatWasNotKept(t *testing.T) {
	s := &shelf{}
	b := keeping(t, s, flowing(s))
	total := func() float64 {
		b.devices[0].Transmitter().To(b.line.Now())
		return b.devices[0].Transmitter().Totals().Net
	}
	b.line.Run(5 * sim.Second)
	b.devices[0].Restart(b.line.Now())
	if got := total(); got != 0 {
		t.Errorf("%v m³ before anything was kept, want 0", got)
	}
	b.line.Run(28 * sim.Second)
	kept := s.kept[len(s.kept)-1].Totals.Net
	if got := total(); got < kept+0.1 {
		t.Fatalf("%v m³, kept %v, want more since", got, kept)
	}
	b.devices[0].Restart(b.line.Now())
	if got := total(); got != kept {
		t.Errorf("begins again at %v m³, want %v as it was kept", got, kept)
	}
}

// A reply that was handed to the line stays what it is, however late it goes.
func TestRestartBeforeALateReply(t *testing.T) {
	c := config(7)
	c.Trouble = trouble(device.Trouble{Delay: 300 * sim.Character})
	b := newBench(t, c)
	p := &probe{burst: &sim.Burst{Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: b.message(b.request(3))}}
	b.line.Join(p)
	b.line.Run(p.burst.Off() + 100*sim.Millisecond)
	b.devices[0].Restart(b.line.Now())
	b.line.Run(2 * sim.Second)
	b.send(b.message(b.request(1))) // whose reply is shorter
	b.line.Run(10 * sim.Second)
	replies := 0
	for _, h := range p.heard {
		if h.Event.Outcome == frame.Whole && h.Event.Frame.Kind == frame.ACK && h.Event.Frame.Command == 3 {
			replies++
		}
	}
	if replies != 1 {
		t.Errorf("heard %+v, want the reply to command 3", p.heard)
	}
}
