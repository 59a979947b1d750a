package fault

import (
	"bytes"
	"testing"

	"looptone/sim"
)

// A port is a tape that hears characters, as one does that leads outside.
type port struct {
	tape
	chars []byte
}

func (p *port) Expect(_ sim.Tick, chars []sim.Char, _ sim.Tick) {
	for _, c := range chars {
		p.chars = append(p.chars, c.Value)
	}
}

// told is when a station was told of a carrier.
func told(s *tape) (on []sim.Tick) {
	for _, h := range s.heard {
		if h.Carrier > 0 {
			on = append(on, h.At)
		}
	}
	return on
}

func TestLateCarrierDetect(t *testing.T) {
	message := published(t)[0]
	b := newBench(t, 1)
	listener := &tape{bursts: []*sim.Burst{burst(10*sim.Second, message)}}
	seat := b.line.Join(listener)
	seat.Name = "secondary master"
	name := b.add(Fault{Kind: "late carrier detect", Talker: "secondary master", Probability: 1, From: 5 * sim.Second,
		Settings: map[string]float64{"detect_bits": 7}})
	for _, c := range []struct {
		at, late sim.Tick
		what     string
	}{
		{2 * sim.Second, 0, "before its time"},
		{6 * sim.Second, 7 * sim.Bit, "before it has talked"},
		{15 * sim.Second, 7 * sim.Bit, "when it lasts"},
		{20 * sim.Second, 0, "when it was removed"},
	} {
		b.line.Run(c.at)
		if c.at == 20*sim.Second {
			b.set.Remove(c.at, name)
		}
		listener.heard = nil
		b.say("primary master", message)
		if on := told(listener); len(on) != 1 || on[0] != c.at+c.late {
			t.Errorf("%s: told of carriers at %d, want once, %d behind %d", c.what, on, c.late, c.at)
		}
		if on := told(b.ear); len(on) != 1 || on[0] != c.at {
			t.Errorf("%s: another one is told at %d", c.what, on)
		}
	}
}

func TestOwnEcho(t *testing.T) {
	message := published(t)[0]
	b := newBench(t, 1)
	in := &port{}
	seat := b.line.Join(in)
	f := Fault{Kind: "own echo", Talker: Host, Probability: 1, From: 10 * sim.Second, Until: 20 * sim.Second}
	b.add(f)
	for _, c := range []struct {
		at   sim.Tick
		want []byte
	}{{5, nil}, {15, message}, {25, nil}} {
		in.chars = nil
		b.line.Run(c.at * sim.Second)
		b.line.Arrive(seat, b.line.Now(), message, nil)
		if !bytes.Equal(in.chars, c.want) {
			t.Errorf("at %d s: %x came back, want %x", c.at, in.chars, c.want)
		}
	}
}

// The longest delay counts, and what lasts goes with the fault that brought it.
func TestTuningsCompose(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	detect := func(bits float64) string {
		return b.add(on("PT-1", "late carrier detect", map[string]float64{"detect_bits": bits}))
	}
	nine, five := detect(9), detect(5)
	want := func(bits sim.Tick) {
		t.Helper()
		var got tuning
		for _, f := range b.set.tuners {
			f.kind.tune(f, &got)
		}
		if got.detect != bits*sim.Bit {
			t.Errorf("delay is %d, want %d bits", got.detect, bits)
		}
	}
	want(9)
	b.set.Remove(0, nine)
	want(5)
	b.set.Remove(0, five)
	want(0)
	if !b.set.idle {
		t.Error("a set without faults is not idle")
	}
}
