package fault

import (
	"math"
	"testing"

	"looptone/frame"
	"looptone/sim"
)

// spans are the times between the bursts of a talker.
func (b *bench) spans(talker string) (spans []float64, first *sent) {
	var last *sent
	for i := range b.log {
		s := &b.log[i]
		if s.talker != talker {
			continue
		}
		if last != nil {
			spans = append(spans, (s.At - last.Off()).Seconds())
		}
		last = s
	}
	return spans, last
}

// exponential wants times with the mean of an exponential distribution, whose
// standard deviation is its mean, within five standard deviations of the mean of n.
func exponential(t *testing.T, spans []float64, mean float64) {
	t.Helper()
	n, sum, long := float64(len(spans)), 0.0, 0
	for _, s := range spans {
		sum += s
		if s > mean {
			long++
		}
	}
	if got, tolerance := sum/n, 5*mean/math.Sqrt(n); math.Abs(got-mean) > tolerance {
		t.Errorf("%g bursts %g s apart, want %g ± %g", n, got, mean, tolerance)
	}
	binomial(t, "longer than the mean", long, len(spans), math.Exp(-1))
}

func TestNoise(t *testing.T) {
	b := newBench(t, 1)
	name := b.add(always("noise", map[string]float64{"every_s": 2, "noise_chars": 4, "level_v": 0.3}))
	b.line.Run(10_000 * sim.Second)
	spans, _ := b.spans("noise")
	exponential(t, spans, 2)
	var lengths [5]int
	chars, parity := 0, 0
	for _, s := range b.log {
		lengths[len(s.Chars)]++
		chars += len(s.Chars)
		for _, m := range s.Marks {
			if m.Mark&frame.Parity != 0 {
				parity++
			}
		}
		if s.Level != 0.3 || s.talker != "noise" {
			t.Fatalf("burst of %q with %g V, want noise with 0.3 V", s.talker, s.Level)
		}
	}
	for n, k := range lengths[1:] {
		binomial(t, string(rune('1'+n))+" characters", k, len(b.log), 0.25)
	}
	binomial(t, "wrong parities", parity, chars, 0.5)
	b.set.Remove(b.line.Now(), name)
	was := len(b.log)
	b.line.Run(b.line.Now() + 1000*sim.Second)
	if len(b.log) != was {
		t.Error("there is noise behind its end")
	}
}

func TestNoiseByCountAndTime(t *testing.T) {
	b := newBench(t, 1)
	f := always("noise", map[string]float64{"every_s": 0.5})
	f.Count, f.From = 3, 100*sim.Second
	b.add(f)
	b.line.Run(1000 * sim.Second)
	if len(b.log) != 3 || b.log[0].At < f.From {
		t.Errorf("%d bursts, the first at %v, want 3 from 100 s on", len(b.log), b.log[0].At.Duration())
	}
	f.Count, f.From, f.Until = 0, 2000*sim.Second, 2100*sim.Second
	b.add(f)
	b.line.Run(9000 * sim.Second)
	if last := b.log[len(b.log)-1]; len(b.log) < 50 || last.At >= f.Until {
		t.Errorf("%d bursts, the last at %v, want more than 50 before 2100 s", len(b.log), last.At.Duration())
	}
}

func TestBabble(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	b.add(on("PT-1", "babble", map[string]float64{"every_s": 5, "babble_chars": 30}))
	b.add(Fault{Kind: "bit errors", Probability: 1, Settings: map[string]float64{"bit_error_rate": 0.5}}) // of messages, which it is not
	b.line.Run(3000 * sim.Second)
	spans, last := b.spans("PT-1 babbling")
	exponential(t, spans, 5)
	if len(last.Chars) != 5+30 || len(last.Marks) != 0 || last.Chars[4] != 0xff {
		t.Errorf("it says %x with marks %v, want 5 preambles and 30 characters, well sent", last.Chars, last.Marks)
	}
	b = newBench(t, 2, "PT-1")
	b.add(on("PT-1", "babble", map[string]float64{"every_s": 0.5, "babble_chars": 200}))
	b.line.Run(3000 * sim.Second)
	spans, _ = b.spans("PT-1 babbling")
	exponential(t, spans, 0.5)
}

// Who has no power does not talk.
func TestBabbleEndsWithThePower(t *testing.T) {
	b := newBench(t, 1, "PT-1", "PT-2")
	b.add(on("PT-2", "babble", map[string]float64{"every_s": 1}))
	b.add(Fault{Kind: "line cut", Other: "PT-1", Probability: 1, From: 20 * sim.Second, Until: 40 * sim.Second})
	var before, cut, after int
	b.line.Run(60 * sim.Second)
	for _, s := range b.log {
		switch {
		case s.At < 20*sim.Second:
			before++
		case s.At < 40*sim.Second:
			cut++
		default:
			after++
		}
	}
	if before == 0 || cut != 0 || after == 0 {
		t.Errorf("%d bursts before the cut, %d while the line is cut, %d behind, want none while it is", before, cut, after)
	}
}
