package fault

import (
	"bytes"
	"math"
	"math/bits"
	"testing"

	"looptone/frame"
	"looptone/sim"
)

// binomial wants k successes in n trials of probability p, within five standard
// deviations.
func binomial(t *testing.T, what string, k, n int, p float64) {
	t.Helper()
	mean, tolerance := float64(n)*p, 5*math.Sqrt(float64(n)*p*(1-p))
	if math.Abs(float64(k)-mean) > tolerance {
		t.Errorf("%s: %d of %d, want %.0f ± %.0f", what, k, n, mean, tolerance)
	}
}

// text is n characters that no frame is made of, with all values.
func text(n int) []byte {
	chars := make([]byte, n)
	for i := range chars {
		chars[i] = byte(i * 37)
	}
	return chars
}

// Each of the ten bits behind a start bit flips as often as it should, and by
// itself. What the parity bit did is known from the mark: a receiver finds the
// parity wrong when an odd number of the nine bits have changed.
func TestBitErrorsAreBinomial(t *testing.T) {
	for _, rate := range []float64{0.001, 0.05, 0.5} {
		set, seat := alone(t, 1, always("bit errors", map[string]float64{"bit_error_rate": rate}))
		const n = 60_000
		chars := text(n)
		b := set.Send(0, seat, burst(0, chars))
		marks := make([]frame.Mark, n)
		for _, m := range b.Marks {
			marks[m.Pos] = m.Mark
		}
		var flips [10]int
		both := 0 // parity and stop bit
		for i, c := range b.Chars {
			changed := c ^ chars[i]
			for bit := range 8 {
				flips[bit] += int(changed >> bit & 1)
			}
			wrong := marks[i]&frame.Parity != 0
			parity := wrong != (bits.OnesCount8(changed)%2 == 1)
			stop := marks[i]&frame.Framing != 0
			if parity {
				flips[8]++
			}
			if stop {
				flips[9]++
			}
			if parity && stop {
				both++
			}
		}
		for bit, k := range flips {
			binomial(t, "bit "+string(rune('0'+bit)), k, n, rate)
		}
		binomial(t, "parity and stop bit together", both, n, rate*rate)
	}
}

// An error on an error puts the parity right again.
func TestFlipTurnsMarksRound(t *testing.T) {
	f := newActive(always("bit errors", nil), find("bit errors"), 1)
	value, mark := f.flip(0x55, frame.Parity|frame.Framing|frame.Gap, 1) // nine of nine: odd
	if value != 0xaa || mark != frame.Gap {
		t.Errorf("got %02x %v, want aa with a gap in front", value, mark)
	}
	value, mark = f.flip(0x55, 0, 1)
	if value != 0xaa || mark != frame.Parity|frame.Framing {
		t.Errorf("got %02x %v, want aa with wrong parity and framing", value, mark)
	}
}

func TestLostAndDoubledCharactersAreBinomial(t *testing.T) {
	const n, rate = 60_000, 0.03
	chars := text(n)
	set, seat := alone(t, 1, always("lost characters", map[string]float64{"loss_rate": rate}))
	lost := set.Send(0, seat, burst(0, chars)).Chars
	binomial(t, "lost", n-len(lost), n, rate)
	if rest := chars; !isWithout(lost, rest) {
		t.Error("what is left is not what was sent without some of its characters")
	}
	set, seat = alone(t, 1, always("doubled characters", map[string]float64{"doubling_rate": rate}))
	doubled := set.Send(0, seat, burst(0, chars)).Chars
	binomial(t, "doubled", len(doubled)-n, n, rate)
	var once []byte
	for i, c := range doubled { // neighbours in the text differ
		if i == 0 || c != doubled[i-1] {
			once = append(once, c)
		}
	}
	if !bytes.Equal(once, chars) {
		t.Error("without the doubles it is not what was sent")
	}
}

// isWithout reports whether short is long without some of its characters.
func isWithout(short, long []byte) bool {
	for _, c := range short {
		i := bytes.IndexByte(long, c)
		if i < 0 {
			return false
		}
		long = long[i+1:]
	}
	return true
}

// struckOf is which of n bursts, a second apart, are changed.
func struckOf(set *Set, seat *sim.Seat, n int) (which []int) {
	for i := range n {
		at := sim.Tick(i) * sim.Second
		b := burst(at, text(10))
		if set.Send(at, seat, b) != b {
			which = append(which, i)
		}
	}
	return which
}

func TestProbabilityCountAndTime(t *testing.T) {
	f := always("stuck carrier", nil)
	f.Probability = 0.3
	set, seat := alone(t, 1, f)
	const n = 20_000
	binomial(t, "struck", len(struckOf(set, seat, n)), n, 0.3)

	f.Count = 3
	set, seat = alone(t, 1, f)
	if got := struckOf(set, seat, n); len(got) != 3 || got[2] > 100 {
		t.Errorf("strikes bursts %v, want three of the first", got)
	}
	f = always("stuck carrier", nil)
	f.From, f.Until = 3*sim.Second, 5*sim.Second
	set, seat = alone(t, 1, f)
	if got := struckOf(set, seat, 10); len(got) != 2 || got[0] != 3 || got[1] != 4 {
		t.Errorf("strikes bursts %v, want those at 3 and 4 s", got)
	}
	f.From, f.Until, f.Probability = 0, 0, 0
	set, seat = alone(t, 1, f)
	if got := struckOf(set, seat, 1000); len(got) != 0 {
		t.Errorf("strikes bursts %v, want none without a chance", got)
	}
}

// A burst that is planned for later is struck by what holds when its carrier goes
// on.
func TestMomentIsThatOfTheCarrier(t *testing.T) {
	f := always("stuck carrier", nil)
	f.From = 3 * sim.Second
	set, seat := alone(t, 1, f)
	if b := burst(3*sim.Second, text(10)); set.Send(2*sim.Second, seat, b) == b {
		t.Error("a burst planned for 3 s is not struck from 3 s on")
	}
}

// What a fault does depends on the seed and its name, never on other faults, in
// front of it or behind.
func TestFaultsDrawFromTheirOwnSources(t *testing.T) {
	f := Fault{Name: "mine", Kind: "stuck carrier", Probability: 0.4}
	set, seat := alone(t, 7, f)
	want := struckBy(t, set, seat)
	other := Fault{Kind: "weak signal", Probability: 0.5, Settings: map[string]float64{"level_v": 1}}
	for _, faults := range [][]Fault{{other, f}, {f, other}, {other, f, other}} {
		set, seat = alone(t, 7, faults...)
		if got := struckBy(t, set, seat); got != want {
			t.Errorf("beside %d other faults it strikes\n%s, alone\n%s", len(faults)-1, got, want)
		}
	}
	if set, seat = alone(t, 8, f); struckBy(t, set, seat) == want {
		t.Error("another seed strikes the same")
	}
	f.Name = "another"
	if set, seat = alone(t, 7, f); struckBy(t, set, seat) == want {
		t.Error("a fault of another name strikes the same")
	}
}

// struckBy tells of 200 bursts which ones had a stuck carrier.
func struckBy(t *testing.T, set *Set, seat *sim.Seat) (pattern string) {
	t.Helper()
	for i := range 200 {
		at := sim.Tick(i) * sim.Second
		if set.Send(at, seat, burst(at, text(10))).Tail > sim.CarrierTail {
			pattern += "x"
		} else {
			pattern += "."
		}
	}
	return pattern
}

// What changes nothing of a message does not count as having struck it.
func TestOnlyWhatChangesCounts(t *testing.T) {
	for kind, rate := range map[string]string{"bit errors": "bit_error_rate", "lost characters": "loss_rate", "doubled characters": "doubling_rate"} {
		f := always(kind, map[string]float64{rate: 0.0005})
		f.Count = 2
		set, seat := alone(t, 1, f)
		changed := 0
		for i := range 2000 {
			b := set.Send(sim.Tick(i)*sim.Second, seat, burst(sim.Tick(i)*sim.Second, text(10)))
			if !bytes.Equal(b.Chars, text(10)) || len(b.Marks) > 0 {
				changed++
			}
		}
		if changed != 2 {
			t.Errorf("%s: %d messages are changed, want 2", kind, changed)
		}
		b := newBench(t, 1)
		b.add(f)
		host := b.line.Join(&port{})
		changed = 0
		for i := range 2000 {
			if got, marks := arrive(b, host, sim.Tick(i)*10*sim.Second, text(10), nil, 3); !bytes.Equal(got, text(10)) || len(marks) > 0 {
				changed++
			}
		}
		if changed != 2 {
			t.Errorf("%s: %d messages of a host are changed, want 2", kind, changed)
		}
	}
}
