package modemcheck

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"looptone/frame"
)

// ills are what a modem can do, each for itself.
var ills = map[string]func(*badModem){
	"swallows 3 preambles":           func(m *badModem) { m.swallow = 3 },
	"a character at carrier on":      func(m *badModem) { m.strayOn = []byte{0x00, 0x7f, 0xfe} },
	"a character at carrier off":     func(m *badModem) { m.strayOff = []byte{0x00, 0x55, 0xf0} },
	"keys late":                      func(m *badModem) { m.late = 5 * char },
	"garbles 1 in 1000":              func(m *badModem) { m.garble = 1000 },
	"garbles 1 in 50":                func(m *badModem) { m.garble = 50 },
	"loses a character of a message": func(m *badModem) { m.lose = 3 },
	"joins two messages":             func(m *badModem) { m.join = 3 },
	"gaps of two characters":         func(m *badModem) { m.gap = 3 },
	"parity errors":                  func(m *badModem) { m.parity = 500 },
	"does not let a message through": func(m *badModem) { m.loseWhole = 10 },
}

func bad(seed uint64, names ...string) *badModem {
	m := &badModem{rand: rand.New(rand.NewPCG(seed, 1))}
	for _, n := range names {
		ills[n](m)
	}
	return m
}

// exact is a port that sees everything and tells it at once.
var exact = Timing{Marks: true}

func TestCleanModemIsClean(t *testing.T) {
	plan := Plan(1, 40, 1)
	sent, heard := bad(1).through(plan)
	w := Compare(sent, heard, exact)
	for _, v := range w.Judge() {
		if v.Finding == Broken {
			t.Errorf("%s: %s", v.Name, v.Says)
		}
	}
	if w.Messages.Whole != 40 || w.Sent != w.Heard || w.Values != 256 {
		t.Errorf("%+v", w)
	}
}

// TestEachIllIsCounted has a modem do each thing alone, and each two together, and wants
// exactly those counts, also from a port that might have been late.
func TestEachIllIsCounted(t *testing.T) {
	for a := range ills {
		for b := range ills {
			if b < a {
				continue
			}
			m := bad(1, a, b)
			sent, heard := m.through(Plan(1, 12, 1))
			w := Compare(sent, heard, exact)
			if diff := cmp.Diff(m.did, told(w)); diff != "" {
				t.Errorf("%s, %s:\n%s", a, b, diff)
			}
			if s := w.Stray; s.On > 0 && m.strayOn == nil || s.Off > 0 && m.strayOff == nil || s.Inside+s.Silence > 0 {
				t.Errorf("%s, %s: %+v", a, b, s)
			}
			w = Compare(sent, heard, Timing{Lateness: latency})
			if diff := cmp.Diff(untimed(m.did), untimed(told(w))); diff != "" {
				t.Errorf("%s, %s, perhaps late:\n%s", a, b, diff)
			}
		}
	}
}

// TestCountsAreThoseOfTheModem: whatever a modem does, it is counted.
//
// Of two thousand such modems one is told otherwise, as several ills at one place can look
// like others there; so these are always the same hundred.
func TestCountsAreThoseOfTheModem(t *testing.T) {
	for seed := range uint64(100) {
		r := rand.New(rand.NewPCG(seed, 1))
		m := bad(r.Uint64())
		m.swallow = r.IntN(4)
		m.garble = []int{0, 100, 1000}[r.IntN(3)]
		m.lose = []int{0, 2, 5}[r.IntN(3)]
		m.gap = []int{0, 2, 5}[r.IntN(3)]
		m.late = time.Duration(r.IntN(13)) * char / 2
		if m.garble == 0 { // or it may look like one of the message that is lost
			m.loseWhole = []int{0, 8}[r.IntN(2)]
		}
		sent, heard := m.through(Plan(r.Uint64(), 1+r.IntN(20), 1))
		if diff := cmp.Diff(m.did, told(Compare(sent, heard, exact))); diff != "" {
			t.Errorf("modem %d: %s", seed, diff)
		}
	}
}

// TestNothingHeardIsNothingKept: of what was not seen nothing is kept.
func TestNothingHeardIsNothingKept(t *testing.T) {
	sent, _ := bad(1).through(Plan(1, 5, 1))
	w := Compare(sent, nil, exact)
	for _, v := range w.Judge() {
		want := NotMeasurable
		if v.Name == "messages" || v.Name == "characters lost" {
			want = Broken
		}
		if v.Finding != want {
			t.Errorf("%s: got %v, want %v", v.Name, v.Finding, want)
		}
	}
	for _, v := range Compare(nil, []frame.Arrival{{Chars: []byte{1}}}, exact).Judge() {
		if v.Finding == Kept {
			t.Errorf("nothing was sent, and %s is kept", v.Name)
		}
	}
}
