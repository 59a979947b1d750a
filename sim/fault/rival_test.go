package fault

import (
	"testing"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/master"
)

// requests are those of a talker that are on the log.
func (b *bench) requests(talker string) (asked []sent) {
	for _, s := range b.log {
		if s.talker == talker {
			asked = append(asked, s)
		}
	}
	return asked
}

// Alone on the line it asks one polling address after the other who is there, with
// its period.
func TestSecondPrimaryMasterAlone(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	name := b.add(always("second primary master", map[string]float64{"every_s": 2}))
	b.line.Run(40 * sim.Second)
	asked := b.requests("second primary master")
	if len(asked) != 20 {
		t.Fatalf("%d requests in 40 s, want 20", len(asked))
	}
	for i, s := range asked {
		f, err := frame.Parse(s.Chars[20:])
		polling, short := f.Address.IsPolling()
		if err != nil || f.Kind != frame.STX || !f.Primary || f.Command != 0 || !short || int(polling) != i%16 {
			t.Errorf("request %d: %x", i, s.Chars)
		}
		if i > 0 {
			if apart := s.At - asked[i-1].At; apart < 2*sim.Second || apart > 2*sim.Second+sim.Second {
				t.Errorf("request %d comes %v behind the one before", i, apart.Duration())
			}
		}
	}
	f := b.set.faults[0]
	stopped, stops := false, f.stops
	f.stops = func() { stopped = true; stops() }
	if b.set.Remove(b.line.Now(), name); !stopped {
		t.Error("its script has not come to its end")
	}
	b.line.Run(100 * sim.Second)
	if got := len(b.requests("second primary master")); got != 20 {
		t.Errorf("%d requests behind its end", got-20)
	}
}

// When it hears the first one it keeps off the line for a while, and comes back.
func TestSecondPrimaryMasterRestsAndComesBack(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	b.add(always("second primary master", map[string]float64{"every_s": 3}))
	request := append(frame.AppendPreambles(nil, 5), 0x02, 0x80, 0x01, 0x00, 0x83) // Source: Buerkert, Type 8605 description of communication, p.16
	heard := 0
	for range 30 {
		b.line.Run(b.line.Now() + 18*sim.Second)
		said := b.line.Now()
		if evs := b.say("primary master", request); len(evs) != 1 || evs[0].Event.Outcome != frame.Whole || evs[0].Event.Frame.Command != 1 {
			continue // they talked at the same time, or it waited for a reply
		}
		heard++
		b.line.Run(said + rest)
		was := len(b.requests("second primary master"))
		b.line.Run(said + 2*rest + 5*sim.Second)
		after := b.requests("second primary master")[was:]
		if before := b.requests("second primary master")[was-1]; before.At > said {
			t.Errorf("it asks %v behind the first one", (before.At - said).Duration())
		}
		if len(after) == 0 {
			t.Errorf("it has not come back %v behind the first one", (b.line.Now() - said).Duration())
		}
	}
	if heard < 15 {
		t.Errorf("only %d of 30 requests were alone on the line", heard)
	}
}

// Beside a master that leaves it room, both talk, in the end at the same time: one
// of them notices.
func TestSecondPrimaryMasterBesideAMaster(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	m := master.New(master.Config{Primary: true}, func(yield func(*master.Transaction) bool) {
		for at := sim.Tick(0); yield(&master.Transaction{Address: frame.Polling(1), Preambles: 5, Earliest: at}); {
			at += 3 * sim.Second
		}
	})
	defer m.Close()
	seat := b.line.Join(m)
	seat.Name = "primary master"
	b.add(Fault{Kind: "second primary master", Probability: 1, From: 10 * sim.Second})
	b.line.Run(10 * sim.Second)
	if first, second := b.requests("primary master"), b.requests("second primary master"); len(first) != 4 || len(second) != 0 {
		t.Fatalf("%d and %d requests in 10 s, want 4 and none", len(first), len(second))
	}
	b.line.Run(300 * sim.Second)
	first, second := b.requests("primary master"), b.requests("second primary master")
	if len(second) < 10 || len(first) < 5 && m.Err() == nil {
		t.Errorf("%d and %d requests in 300 s, and the first one ended with %v", len(first), len(second), m.Err())
	}
}

// When it comes back while a carrier is on it waits until that is off.
func TestSecondPrimaryMasterComesBackIntoACarrier(t *testing.T) {
	for _, busy := range []bool{false, true} {
		r := &rival{every: sim.Second, back: 10 * sim.Second}
		defer r.stop()
		if busy {
			r.Step(5*sim.Second, []sim.Heard{{At: 5 * sim.Second, Carrier: +1}})
		}
		r.Step(r.back, nil)
		if send, _ := r.Step(r.back+sim.LinkQuietPrimary, nil); (send == nil) != busy {
			t.Errorf("a carrier is on: %t; it sends: %t", busy, send != nil)
		}
	}
}
