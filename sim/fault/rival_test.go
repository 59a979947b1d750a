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
	if b.set.Close(); !stopped {
		t.Error("its script goes on behind the end of the line")
	}
	stopped = false
	if b.set.Remove(b.line.Now(), name); !stopped {
		t.Error("its script has not come to its end")
	}
	b.line.Run(100 * sim.Second)
	if got := len(b.requests("second primary master")); got != 20 {
		t.Errorf("%d requests behind its end", got-20)
	}
}

// Beside a master that asks without a pause it takes the same turns: where it has
// something to ask both talk at once, and nobody understands either.
func TestSecondPrimaryMasterSpoilsABusyLine(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	var silent, answered int
	m := master.New(master.Config{Primary: true, Heedless: true}, func(yield func(*master.Transaction) bool) {
		for {
			tr := master.Transaction{Address: frame.Polling(1), Preambles: 5}
			if !yield(&tr) {
				return
			}
			if tr.Outcome == master.Answered {
				answered++
			} else {
				silent++
			}
		}
	})
	defer m.Close()
	b.line.Join(m).Name = "primary master"
	b.line.Run(10 * sim.Second)
	if answered < 10 || silent > 0 {
		t.Fatalf("alone: %d answered, %d not", answered, silent)
	}
	name := b.add(Fault{Kind: "second primary master", Probability: 1})
	b.line.Run(55 * sim.Second)
	if first, second := b.requests("primary master"), b.requests(secondPrimary); together(first, second) < 15 {
		t.Errorf("%d times both talked at once, want at least 15", together(first, second))
	}
	b.set.Remove(b.line.Now(), b.add(always("late carrier detect", nil))) // which leaves it as late as it was
	b.line.Run(100 * sim.Second)
	second := b.requests(secondPrimary)
	if len(second) < 60 || silent < 30 {
		t.Errorf("in 90 s %d requests of the second one, %d of the first one without a reply, want at least 60 and 30", len(second), silent)
	}
	if first := b.requests("primary master"); together(first, second) < 30 {
		t.Errorf("%d times both talked at once, want at least 30", together(first, second))
	}
	b.set.Remove(b.line.Now(), name)
	b.line.Run(101 * sim.Second)
	answered, silent = 0, 0
	if b.line.Run(111 * sim.Second); answered < 10 || silent > 0 {
		t.Errorf("alone again: %d answered, %d not", answered, silent)
	}
}

// together counts the bursts of one talker that began at the moment at which one of
// the other did.
func together(first, second []sent) (n int) {
	begins := map[sim.Tick]bool{}
	for _, s := range first {
		begins[s.At] = true
	}
	for _, s := range second {
		if begins[s.At] {
			n++
		}
	}
	return n
}

// Beside a master that leaves it room, both are answered, and go on.
func TestSecondPrimaryMasterBesideAMaster(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	m := master.New(master.Config{Primary: true, Heedless: true}, func(yield func(*master.Transaction) bool) {
		for at := sim.Tick(0); yield(&master.Transaction{Address: frame.Polling(1), Preambles: 5, Earliest: at}); {
			at += 3 * sim.Second
		}
	})
	defer m.Close()
	b.line.Join(m).Name = "primary master"
	b.add(Fault{Kind: "second primary master", Probability: 1, From: 10 * sim.Second})
	b.line.Run(10 * sim.Second)
	if first, second := b.requests("primary master"), b.requests(secondPrimary); len(first) != 4 || len(second) != 0 {
		t.Fatalf("%d and %d requests in 10 s, want 4 and none", len(first), len(second))
	}
	b.line.Run(300 * sim.Second)
	if first, second := b.requests("primary master"), b.requests(secondPrimary); len(second) < 250 || len(first) < 95 {
		t.Errorf("%d and %d requests in 300 s, want at least 95 and 250", len(first), len(second))
	}
}
