package modemcheck

import (
	"context"
	"errors"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"looptone/frame"
)

// A memoryEnd is one end of two, with a modem on the way to the other.
type memoryEnd struct {
	name     string
	to       *memoryEnd
	modem    *badModem
	carriers bool
	arrivals chan frame.Arrival
	err      error

	leaving chan frame.Arrival // when they are due
	last    time.Time
}

func (e *memoryEnd) Name() string                   { return e.name }
func (e *memoryEnd) Arrivals() <-chan frame.Arrival { return e.arrivals }
func (e *memoryEnd) Err() error                     { return e.err }

func (e *memoryEnd) Send(_ context.Context, at time.Time, lead, _ time.Duration, chars []byte) error {
	late := e.modem.late
	begin := at.Add(late)
	if len(e.modem.strayOn) > 0 {
		begin = begin.Add(-char)
	}
	late += max(e.last.Sub(begin), 0)
	if e.carriers {
		e.leaving <- frame.Arrival{At: at.Add(late - lead), Carrier: 1}
	}
	for _, d := range e.modem.pass(chars, late) {
		a := d.arrival(at)
		e.leaving <- a
		e.last = a.At
	}
	if e.carriers {
		e.leaving <- frame.Arrival{At: at.Add(late + time.Duration(len(chars))*char + lead), Carrier: -1}
	}
	time.Sleep(time.Until(at.Add(time.Duration(len(chars)) * char)))
	return nil
}

// work hands on what is due.
func (e *memoryEnd) work() {
	for a := range e.leaving {
		time.Sleep(time.Until(a.At))
		e.to.arrivals <- a
	}
}

// ends are two ends with a modem each, or one that hears itself.
func ends(t *testing.T, modems ...*badModem) (first, second *memoryEnd) {
	var all []*memoryEnd
	for i, m := range modems {
		e := &memoryEnd{name: string(rune('A' + i)), modem: m, arrivals: make(chan frame.Arrival, 1000), leaving: make(chan frame.Arrival, 10000)}
		all = append(all, e)
		go e.work()
		t.Cleanup(func() { close(e.leaving) })
	}
	first, second = all[0], all[len(all)-1]
	first.to, second.to = second, first
	return first, second
}

var bench = Bench{Timing: exact}

func wantBroken(t *testing.T, r *Report, want ...string) {
	t.Helper()
	var got []string
	for _, v := range r.Verdicts() {
		if v.Finding == Broken {
			got = append(got, v.Name)
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("broken limits (-want +got):\n%s", diff)
	}
}

func TestLoopbackOfCleanModem(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		end, _ := ends(t, bad(1))
		r, err := bench.Loopback(t.Context(), end, Plan(1, 40, 1))
		if err != nil {
			t.Fatal(err)
		}
		wantBroken(t, r)
		if w := r.Ways[0]; w.Messages.Whole != 40 || w.From != "A" || w.To != "A" {
			t.Errorf("%+v", w)
		}
		if r.Took < 50*time.Second || r.Took > 70*time.Second {
			t.Errorf("it took %v, want about a minute", r.Took)
		}
	})
}

// TestFindingsOfModems: what is wrong with a modem is found, by the names of the limits.
func TestFindingsOfModems(t *testing.T) {
	for name, want := range map[string][]string{
		"swallows 3 preambles":           {"preambles swallowed"},
		"a character at carrier on":      {"stray characters"},
		"a character at carrier off":     {"stray characters"},
		"keys late":                      {"turn-around"},
		"garbles 1 in 1000":              {"messages", "characters wrong"},
		"loses a character of a message": {"messages", "characters lost"},
		"gaps of two characters":         {"gaps"},
		"parity errors":                  {"messages", "parity and framing"},
		"does not let a message through": {"messages", "characters lost"},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				m := bad(1, name)
				end, _ := ends(t, m)
				r, err := bench.Loopback(t.Context(), end, Plan(1, 40, 1))
				if err != nil {
					t.Fatal(err)
				}
				if m.strayOn != nil || m.strayOff != nil || m.gap > 0 { // what follows at once is later for it
					want = append(slices.Clip(want), "turn-around")
					slices.SortFunc(want, func(a, b string) int { return rank(a) - rank(b) })
				}
				wantBroken(t, r, want...)
				got := told(r.Ways[0])
				got.Late, m.did.Late = 0, 0
				if diff := cmp.Diff(m.did, got); diff != "" {
					t.Error(diff)
				}
			})
		})
	}
}

// rank is the place of a limit among all.
func rank(name string) int {
	return slices.IndexFunc(Limits, func(l Limit) bool { return l.Name == name })
}

func TestPairKeepsTheWaysApart(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		there, back := bad(1, "swallows 3 preambles"), bad(2, "loses a character of a message")
		first, second := ends(t, there, back)
		r, err := bench.Pair(t.Context(), first, second, Plan(3, 40, 2))
		if err != nil {
			t.Fatal(err)
		}
		wantBroken(t, r, "messages", "characters lost", "preambles swallowed")
		for i, m := range []*badModem{there, back} {
			if diff := cmp.Diff(m.did, told(r.Ways[i])); diff != "" {
				t.Errorf("%s to %s: %s", r.Ways[i].From, r.Ways[i].To, diff)
			}
		}
	})
}

func TestCarriersAreHeldAgainstTheirLimits(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		end, _ := ends(t, bad(1))
		end.carriers = true
		r, err := bench.Loopback(t.Context(), end, Plan(1, 10, 1))
		if err != nil {
			t.Fatal(err)
		}
		wantBroken(t, r)
		if c := r.Ways[0].Carrier; c.On.Messages != 10 || c.On.Longest.Round(time.Microsecond) != 4167*time.Microsecond || c.Off.Messages == 0 {
			t.Errorf("%+v", c)
		}
	})
}

func TestAnEndThatEndsEndsTheTest(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		first, second := ends(t, bad(1), bad(2))
		second.err = errors.New("unplugged")
		close(second.arrivals)
		first.modem.loseWhole = 1
		if _, err := bench.Pair(t.Context(), first, second, Plan(1, 3, 1)); !errors.Is(err, second.err) {
			t.Errorf("got %v, want %v", err, second.err)
		}
	})
}

func TestInterruptedTestEnds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		end, _ := ends(t, bad(1))
		ctx, stop := context.WithTimeout(t.Context(), 5*time.Second)
		defer stop()
		if _, err := bench.Loopback(ctx, end, Plan(1, 40, 1)); !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("got %v", err)
		}
	})
}
