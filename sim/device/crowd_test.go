package device_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/device"
)

// A crowd is stations in one that talk when they please, once no carrier is on.
type crowd struct {
	messages [][]byte
	pauses   []sim.Tick
	busy     bool
	next     sim.Tick
}

func (c *crowd) Step(now sim.Tick, heard []sim.Heard) (*sim.Burst, sim.Tick) {
	for i := range heard {
		if heard[i].Carrier != 0 {
			c.busy = heard[i].Carrier > 0
		}
	}
	switch {
	case c.busy || len(c.messages) == 0:
		return nil, sim.Never
	case now < c.next:
		return nil, c.next
	}
	b := &sim.Burst{At: now, Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: c.messages[0]}
	c.next = b.Off() + c.pauses[0]
	c.messages, c.pauses = c.messages[1:], c.pauses[1:]
	return b, c.next
}

// Whatever others say, a message begins where no carrier is on, the master bit
// alternates, and the line is never silent for longer than 33 characters.
func TestPublishingAmongOthers(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := publishing(7, device.Publication{Command: 1}, device.Publication{Command: 3, Every: 2 * sim.Second})
		c.Latency = sim.Tick(rapid.IntRange(int(sim.CarrierLead), int(sim.SlaveTimeOut)).Draw(rt, "latency"))
		b := newBench(t, c)
		others := &crowd{}
		for range rapid.IntRange(1, 30).Draw(rt, "messages") {
			others.messages = append(others.messages, drawMessage(rt, b))
			others.pauses = append(others.pauses, sim.Tick(rapid.IntRange(0, 40*character).Draw(rt, "pause")))
		}
		b.line.Join(others)
		busy, primary := sim.Tick(0), true
		b.line.Log(func(_ *sim.Seat, sent *sim.Burst) {
			switch f := frameIn(sent); {
			case f.Kind == frame.BACK && f.Burst && sent.At < busy:
				rt.Fatalf("a message begins at %v, a carrier is on until %v", sent.At.Duration(), busy.Duration())
			case f.Kind == frame.BACK && f.Burst && f.Primary != primary:
				rt.Fatalf("the message at %v is to the wrong master", sent.At.Duration())
			case f.Kind == frame.BACK && f.Burst:
				primary = !primary
			}
			if sent.At-busy > afterNobody {
				rt.Fatalf("the line is silent from %v to %v", busy.Duration(), sent.At.Duration())
			}
			busy = max(busy, sent.Off())
		})
		b.line.Run(60 * sim.Second)
		if busy < 59*sim.Second {
			rt.Fatalf("the line is silent from %v on", busy.Duration())
		}
	})
}

// frameIn is the frame in a burst, if there is one.
func frameIn(b *sim.Burst) (f frame.Frame) {
	if i := slices.IndexFunc(b.Chars, func(c byte) bool { return c != 0xff }); i >= 0 {
		f, _ = frame.Parse(b.Chars[i:])
	}
	return f
}

// drawMessage draws something that may be on a line; no frame in it has the burst bit.
func drawMessage(rt *rapid.T, b *bench) []byte {
	f := b.request(rapid.SampledFrom([]uint16{0, 1, 3, 48, 95, 200}).Draw(rt, "command"))
	f.Kind = rapid.SampledFrom([]frame.Kind{frame.STX, frame.STX, frame.ACK, frame.BACK}).Draw(rt, "kind")
	if rapid.Bool().Draw(rt, "to another") {
		f.Address = frame.Unique(1, 2)
	}
	chars := b.message(f)
	if rapid.IntRange(0, 3).Draw(rt, "damaged") == 0 {
		at := rapid.SampledFrom([]int{2, 7, 9, 11, len(chars) - 1}).Draw(rt, "at")
		chars[at] ^= 1 << rapid.IntRange(0, 5).Draw(rt, "bit")
	}
	return chars[:rapid.IntRange(1, len(chars)).Draw(rt, "length")]
}
