package device_test

import (
	"errors"
	"testing"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/process"
)

func constant(v float64) process.Model { return process.Constant(v) }

// Source: Allen-Bradley 1794-UM063A p.C-6 (a self test sets cold start); ABB Endura
// AZ manual IM/AZ20E-EN rev F table 7.4 (32 busy).
func TestSelfTest(t *testing.T) {
	b := newBench(t, config(7))
	b.code(1)
	quick := func(command uint16, data ...byte) (code uint8, status frame.DeviceStatus) {
		t.Helper()
		request := b.message(b.request(command, data...))
		p := &probe{burst: &sim.Burst{At: b.line.Now(), Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: request}}
		seat := b.line.Join(p)
		for len(p.heard) == 0 && b.line.Next() < sim.Never {
			b.line.Run(b.line.Next())
		}
		b.line.Leave(seat)
		if len(p.heard) != 1 {
			t.Fatalf("command %d: heard %+v", command, p.heard)
		}
		s := p.heard[0].Event.Frame.Status
		code, _ = s.Response.Code()
		return code, s.Device
	}
	if code, status := quick(41); code != 0 || status&frame.ColdStart != 0 {
		t.Errorf("self test: got %d, %v", code, status.Names())
	}
	if code, status := quick(34, 0x40, 0x80, 0, 0); code != 32 || status&frame.ColdStart == 0 {
		t.Errorf("a write meanwhile: got %d, %v, want 32 and cold start", code, status.Names())
	}
	if code, _ := quick(40, 0x41, 0x80, 0, 0); code != 32 {
		t.Errorf("holding the current meanwhile: got %d, want 32", code)
	}
	if code, _ := quick(1); code != 0 {
		t.Errorf("reading meanwhile: got %d, want 0", code)
	}
	b.line.Run(b.line.Now() + 3*sim.Second)
	if code, _ := quick(34, 0x40, 0x80, 0, 0); code != 0 {
		t.Errorf("a write afterwards: got %d, want 0", code)
	}
}

// Source: Allen-Bradley 1794-UM063A appendix C (42), p.C-6 (cold start after a
// reset).
func TestReset(t *testing.T) {
	b := newBench(t, config(7))
	b.turns(7, []turn{
		{34, "40800000", 0, "="},
		{40, "41800000", 0, "="},
		{79, "01 01 0c 42c80000 c0", 0, "="},
		{42, "", 0, ""},
	})
	if got := b.devices[0].Transmitter().LoopCurrentMA(); got != 12 {
		t.Errorf("got %v mA after a reset, want 12: a held current does not stay", got)
	}
	if s := b.ask(b.request(1)).Status.Device; s&frame.ColdStart == 0 {
		t.Errorf("got status %v, want cold start", s.Names())
	}
	b.turns(7, []turn{
		{33, "01", 0, "01 0c 41c80000"},
		{15, "", 0, "00 01 0c 42c80000 00000000 40800000 00 fa 00"},
	})
}

// A reset happens when it was asked for: nothing on the line is ahead of its time.
func TestResetDoesNotRunAhead(t *testing.T) {
	c := config(7)
	c.Latency = 250 * sim.Millisecond
	b := newBench(t, c)
	burst := &sim.Burst{At: b.line.Now(), Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: b.message(b.request(42))}
	b.line.Join(&probe{burst: burst})
	for b.line.Now() < sim.Second {
		b.line.Run(b.line.Now() + sim.Millisecond)
		if at := b.devices[0].Transmitter().At(); at > b.line.Now() {
			t.Fatalf("at %v the transmitter is at %v", b.line.Now().Duration(), at.Duration())
		}
	}
}

// While it starts, a device does not hear.
func TestResetTakesTime(t *testing.T) {
	b := newBench(t, config(7))
	twice := append(b.message(b.request(42)), frame.AppendPreambles(nil, 60)...) // 550 ms of preambles
	heard, _ := b.send(append(twice, b.message(b.request(1))...))
	if len(heard) > 1 {
		t.Errorf("heard %+v, want the reply to the reset at most", heard)
	}
}

// Source: Allen-Bradley 1794-UM063A appendix C note 1.
func TestEEPROMControl(t *testing.T) {
	newBench(t, config(7)).turns(7, []turn{{39, "00", 0, "="}, {39, "01", 0, "="}, {39, "02", 2, ""}})
}

// Source: FieldComm Group support article 8000090586 (the device answers in time
// in any case; 33 to 36 where it has the scheme, else 32); Flowserve LMENIM2340-00
// p.70 (106).
func TestDelayedResponse(t *testing.T) {
	const damping, other = "40800000", "40000000"
	information := func(seconds string) turn {
		return turn{15, "", 0, "00 01 0c 42c80000 00000000 " + seconds + " 00 fa 00"}
	}
	c := config(7)
	c.WriteTime = 5 * sim.Second // three turns of the bench, which waits 2 s
	b := newBench(t, c)
	b.turns(7, []turn{
		{34, damping, 33, ""},
		{34, damping, 34, ""},
		{34, other, 32, ""},
		information(damping), // by now it is done, though nobody has asked
		{34, other, 32, ""},  // there is room for one, and its result waits
		{34, damping, 0, "="},
		{34, "bf800000", 33, ""},
		{106, "", 8, ""}, // what is running is not flushed
		{1, "", 0, "0c 41c80000"},
		{34, "bf800000", 4, ""}, // and was refused in the end
		information(damping),
		{34, other, 33, ""},
	})
	secondary := b.request(34, unhex(t, other)...)
	secondary.Primary = false
	if reply := b.ask(secondary); reply.Status.Response != 32 {
		t.Errorf("the other master is answered %d, want 32", reply.Status.Response)
	}
	b.line.Run(b.line.Now() + 10*sim.Second)
	b.turns(7, []turn{{106, "", 0, ""}, {34, other, 33, ""}})
	b.line.Run(b.line.Now() + 90*sim.Second)
	b.turns(7, []turn{{34, other, 35, ""}, {34, other, 33, ""}})

	old := config(5)
	old.WriteTime = 3 * sim.Second
	newBench(t, old).turns(5, []turn{{34, damping, 32, ""}, {34, damping, 32, ""}, {34, damping, 0, "="}})
}

// The result of a delayed write is told when it is durable, or that it is not.
func TestDelayedResponseWithAStore(t *testing.T) {
	for code, err := range map[uint8]error{0: nil, 6: errors.New("disk full")} {
		s := &shelf{takes: 3 * sim.Second, err: err}
		c := config(7)
		c.WriteTime = sim.Second
		b := keeping(t, s, c)
		want, damping := "=", "40800000"
		if err != nil {
			want, damping = "", "3f000000"
		}
		b.turns(7, []turn{
			{34, "40800000", 33, ""},
			{34, "40800000", 34, ""}, // it was carried out, and is not kept yet
			{1, "", 0, "0c 41c80000"},
			{34, "40800000", code, want},
			{15, "", 0, "00 01 0c 42c80000 00000000 " + damping + " 00 fa 00"},
		})
	}
}

// A write that fits into the slave time-out makes the reply late.
func TestWriteTimeDelaysTheReply(t *testing.T) {
	c := config(7)
	c.WriteTime = 200 * sim.Millisecond
	b := newBench(t, c)
	heard, end := b.send(b.message(b.request(34, 0x40, 0x80, 0, 0)))
	if len(heard) != 1 || heard[0].Begin-end != 200*sim.Millisecond {
		t.Errorf("heard %+v, want a reply after 200 ms", heard)
	}
	heard, end = b.send(b.message(b.request(1)))
	if len(heard) != 1 || heard[0].Begin-end != 40*sim.Millisecond {
		t.Errorf("heard %+v, want a reply to a read after 40 ms", heard)
	}
}
