package modemcheck

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"looptone/frame"
)

// latency is how late an adapter may tell what came in.
//
// Source: common practice (the latency timer of USB adapters)
const latency = 16 * time.Millisecond

// polled is what an adapter hands on that looks every 16 ms: all at once that came since.
func polled(heard []frame.Arrival, _ *rand.Rand) (out []frame.Arrival) {
	for _, a := range heard {
		at := a.At.Truncate(latency).Add(latency)
		if n := len(out); n > 0 && out[n-1].At.Equal(at) {
			out[n-1].Chars = append(out[n-1].Chars, a.Chars...)
			continue
		}
		out = append(out, frame.Arrival{At: at, Chars: append([]byte(nil), a.Chars...)})
	}
	return out
}

// stalled is what a machine hands on that now and then does nothing for up to 60 ms.
func stalled(heard []frame.Arrival, chance *rand.Rand) (out []frame.Arrival) {
	var until time.Time
	for _, a := range heard {
		if chance.IntN(30) == 0 {
			until = a.At.Add(time.Duration(5+chance.IntN(56)) * time.Millisecond)
		}
		if a.At.Before(until) {
			a.At = until
		}
		a.Marks = nil
		out = append(out, a)
	}
	return out
}

// TestLatenessIsNotCounted: what is told late, by an adapter or a machine that stalls, is
// neither lost nor wrong nor extra.
func TestLatenessIsNotCounted(t *testing.T) {
	for how, late := range map[string]func([]frame.Arrival, *rand.Rand) []frame.Arrival{"polled": polled, "stalled": stalled} {
		for ill := range ills {
			for seed := range uint64(3) {
				m := bad(seed, ill)
				sent, heard := m.through(Plan(seed, 12, 1))
				w := Compare(sent, late(heard, rand.New(rand.NewPCG(seed, 2))), Timing{Lateness: latency})
				if diff := cmp.Diff(untimed(m.did), untimed(told(w))); diff != "" {
					t.Errorf("%s, %s, seed %d:\n%s", how, ill, seed, diff)
				}
			}
		}
	}
}

// untimed are the counts that neither times nor marks decide.
func untimed(d done) done {
	d.Gaps, d.Joined, d.Late, d.Parity = 0, 0, 0, 0
	return d
}

// TestDoubledCharactersAreExtra: a modem that says everything twice is faster than the line
// can be, but not early.
func TestDoubledCharactersAreExtra(t *testing.T) {
	sent, heard := bad(1).through(Plan(2, 3, 1))
	var twice []frame.Arrival
	for _, a := range heard {
		twice = append(twice, a, a)
	}
	w := Compare(sent, twice, Timing{Lateness: latency})
	if n := len(heard); w.Stray.All() != n || w.Lost+w.Wrong > 0 || w.Gaps.Count > 0 || w.Delay.Least != 0 {
		t.Errorf("%d sent: %+v", n, w)
	}
}
