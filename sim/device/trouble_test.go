package device_test

import (
	"slices"
	"testing"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/device"
)

// trouble is always the same.
func trouble(t device.Trouble) func(sim.Tick, bool) device.Trouble {
	return func(sim.Tick, bool) device.Trouble { return t }
}

// What is wrong is asked once for each request that the device understood, when it
// ends, and whether it writes.
func TestTroubleIsAskedOnce(t *testing.T) {
	type asked struct {
		at    sim.Tick
		write bool
	}
	var got []asked
	c := config(7)
	c.WriteTime = 100 * sim.Millisecond
	c.Trouble = func(now sim.Tick, write bool) device.Trouble {
		got = append(got, asked{now, write})
		return device.Trouble{}
	}
	b := newBench(t, c)
	foreign := b.request(1)
	foreign.Address = frame.Unique(1, 2)
	short := frame.Frame{Kind: frame.STX, Address: frame.Polling(0), Primary: true}
	byTag := frame.Frame{Kind: frame.STX, Address: frame.Broadcast, Primary: true, Command: 11, Data: unhex(t, "194b71 820820")}
	another := byTag
	another.Data = unhex(t, "194b72 820820")
	damaged := b.message(b.request(9, 0))
	damaged[len(damaged)-1] ^= 1
	for _, tt := range []struct {
		what  string
		chars []byte
		want  []bool
	}{
		{"a read", b.message(b.request(1)), []bool{false}},
		{"a write", b.message(b.request(34, 0x40, 0x80, 0, 0)), []bool{true}},
		{"command 0 at its polling address", b.message(short), []bool{false}},
		{"its tag", b.message(byTag), []bool{false}},
		{"another tag", b.message(another), nil},
		{"a command that it does not have", b.message(b.request(200)), []bool{false}},
		{"too few data", b.message(b.request(34)), []bool{true}},
		{"another device's request", b.message(foreign), nil},
		{"a damaged request, which it answers", damaged, nil},
	} {
		got = nil
		_, end := b.send(tt.chars)
		var want []asked
		for _, write := range tt.want {
			want = append(want, asked{end, write})
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: asked %+v, want %+v", tt.what, got, want)
		}
	}
}

func TestDelayComesOnTopOfTheLatency(t *testing.T) {
	c := config(7)
	c.Trouble = trouble(device.Trouble{Delay: 30 * sim.Character})
	b := newBench(t, c)
	heard, end := b.send(b.message(b.request(1)))
	if len(heard) != 1 || heard[0].Begin-end != 40*sim.Millisecond+30*sim.Character {
		t.Errorf("heard %+v, want a reply 40 ms and 30 characters later", heard)
	}
}

// A silent device does what it was asked.
func TestSilentDevice(t *testing.T) {
	silent := true
	c := config(7)
	c.Trouble = func(sim.Tick, bool) device.Trouble { return device.Trouble{Silent: silent} }
	b := newBench(t, c)
	b.silent("a write", b.message(b.request(34, []byte(damping4)...)))
	silent = false
	b.turns(7, []turn{{15, "", 0, "00 01 0c 42c80000 00000000 40800000 00 fa 00"}, {40, "41800000", 0, "="}})
	silent = true
	b.silent("a reset", b.message(b.request(42)))
	silent = false
	b.turns(7, []turn{{2, "", 0, "41400000 42480000"}})
}

// A busy device does nothing but say so.
//
// Source: ABB Endura AZ manual IM/AZ20E-EN rev F p.74, table 7.4 (32).
func TestBusyDevice(t *testing.T) {
	is := true
	c := config(7)
	c.Trouble = func(sim.Tick, bool) device.Trouble { return device.Trouble{Busy: is} }
	b := newBench(t, c)
	b.turns(7, []turn{{1, "", 32, ""}, {34, "40800000", 32, ""}, {42, "", 32, ""}, {200, "", 32, ""}})
	is = false
	b.turns(7, []turn{{15, "", 0, "00 01 0c 42c80000 00000000 3f000000 00 fa 00"}})
}

// The longer of two write times counts. A write that takes longer than a reply may
// is answered in the end, though nothing is wrong any more by then.
//
// Source: FieldComm Group support article 8000090586 (33, 34).
func TestWriteTimeOfTrouble(t *testing.T) {
	var write sim.Tick
	c := config(7)
	c.WriteTime = 100 * sim.Millisecond
	c.Trouble = func(sim.Tick, bool) device.Trouble { return device.Trouble{WriteTime: write} }
	b := newBench(t, c)
	for _, write = range []sim.Tick{50 * sim.Millisecond, 200 * sim.Millisecond} {
		heard, end := b.send(b.message(b.request(34, []byte(damping4)...)))
		if want := max(write, c.WriteTime); len(heard) != 1 || heard[0].Begin-end != want {
			t.Errorf("write time %v: heard %+v, want a reply after %v", write.Duration(), heard, want.Duration())
		}
	}
	write = 5 * sim.Second
	b.turns(7, []turn{{34, "41000000", 33, ""}})
	write = 0
	b.turns(7, []turn{
		{34, "40000000", 32, ""}, // it is still busy with the other one
		{34, "41000000", 34, ""},
		{34, "41000000", 0, "="},
		{15, "", 0, "00 01 0c 42c80000 00000000 41000000 00 fa 00"},
		{34, "40000000", 0, "="},
	})
}

// A request that is damaged meets no trouble, that of the one before it included.
func TestDamagedRequestMeetsNoTrouble(t *testing.T) {
	c := config(7)
	c.Trouble = trouble(device.Trouble{Silent: true, Delay: sim.Second})
	b := newBench(t, c)
	b.silent("a read", b.message(b.request(1)))
	damaged := b.message(b.request(9, 0))
	damaged[len(damaged)-1] ^= 1
	heard, end := b.send(damaged)
	if len(heard) != 1 || heard[0].Begin-end != 40*sim.Millisecond || heard[0].Event.Frame.Status.Response != 0x88 {
		t.Errorf("heard %+v, want the check byte to be told after 40 ms", heard)
	}
}
