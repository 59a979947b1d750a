package sim

import (
	"encoding/hex"
	"math/bits"
	"slices"
	"testing"

	"looptone/frame"
)

// A tape is a station that sends bursts at their moments and keeps what it hears.
type tape struct {
	bursts []*Burst
	heard  []Heard
}

func (s *tape) Step(now Tick, heard []Heard) (*Burst, Tick) {
	for _, h := range heard {
		h.Event.Frame = h.Event.Frame.Clone()
		h.Event.Raw = slices.Clone(h.Event.Raw)
		s.heard = append(s.heard, h)
	}
	if len(s.bursts) == 0 {
		return nil, Never
	}
	if b := s.bursts[0]; b.At <= now {
		s.bursts = s.bursts[1:]
		return b, now
	}
	return nil, s.bursts[0].At
}

// events are what was heard without the carriers.
func (s *tape) events() (evs []Heard) {
	for _, h := range s.heard {
		if h.Carrier == 0 {
			evs = append(evs, h)
		}
	}
	return evs
}

// message is a frame with n preambles, written by hand from published bytes.
func message(t *testing.T, n int, frameHex string) []byte {
	t.Helper()
	b, err := hex.DecodeString(frameHex)
	if err != nil {
		t.Fatal(err)
	}
	return append(frame.AppendPreambles(nil, n), b...)
}

// Source: Buerkert, Type 8605 description of communication, p.16: request and
// reply of command 1.
const (
	request = "0280010083"
	reply   = "06800107000039" + "41c80000" + "30"
)

func TestLineTellsFramesAndCarriers(t *testing.T) {
	req := message(t, 5, request)
	talker := &tape{bursts: []*Burst{{At: Second, Lead: 5 * Bit, Tail: 3 * Bit, Chars: req}}}
	listener := &tape{}
	l := NewLine(1)
	l.Join(talker)
	l.Join(listener)
	l.Run(2 * Second)

	first, last := Second+5*Bit, Second+5*Bit+10*Character
	want := []Heard{{At: Second, Carrier: +1}, {At: last, Begin: first, End: last}, {At: last + 3*Bit, Carrier: -1}}
	if len(listener.heard) != len(want) {
		t.Fatalf("heard %d things, want carrier on, frame, carrier off: %+v", len(listener.heard), listener.heard)
	}
	for i, h := range listener.heard {
		ev := h.Event
		h.Event = frame.Event{}
		if h.At != want[i].At || h.Begin != want[i].Begin || h.End != want[i].End || h.Carrier != want[i].Carrier {
			t.Errorf("thing %d: %+v, want %+v", i, h, want[i])
		}
		if i == 1 && (ev.Outcome != frame.Whole || ev.Preambles != 5 || ev.Frame.Command != 1) {
			t.Errorf("event %+v, want the request of command 1 behind 5 preambles", ev)
		}
	}
	if len(talker.heard) != 0 {
		t.Errorf("the talker heard itself: %+v", talker.heard)
	}
}

// both has two talkers send at once and gives what a third hears.
func both(t *testing.T, seed uint64, a, b *Burst) []Heard {
	t.Helper()
	listener := &tape{}
	l := NewLine(seed)
	l.Join(&tape{bursts: []*Burst{a}})
	l.Join(&tape{bursts: []*Burst{b}})
	l.Join(listener)
	l.Run(20 * Second)
	return listener.events()
}

func TestSuperpositionKeepsEqualBits(t *testing.T) {
	// Two talkers in step whose only difference is data: everything equal stays.
	a, b := message(t, 5, request), message(t, 5, request)
	evs := both(t, 1, &Burst{Chars: a}, &Burst{Chars: b})
	if len(evs) != 1 || evs[0].Event.Outcome != frame.Whole {
		t.Fatalf("two equal bursts in step: %+v, want one whole frame", evs)
	}
	// 55 and 57 differ in one bit: seven data bits stay, and the one that
	// differs, with the parity bit, falls by the seed.
	seen := map[byte]bool{}
	for seed := range uint64(64) {
		evs := both(t, seed, &Burst{Chars: []byte{0x55, 0x55, 0x55}}, &Burst{Chars: []byte{0x57, 0x57, 0x57}})
		for _, ev := range evs {
			for _, c := range ev.Event.Raw {
				if bits.OnesCount8(c&^0x02^0x55) != 0 {
					t.Fatalf("seed %d: heard %02x, which changes a bit that both send alike", seed, c)
				}
				seen[c] = true
			}
		}
	}
	if !seen[0x55] || !seen[0x57] {
		t.Errorf("the unequal bit always fell the same way: %v", seen)
	}
}

// The stronger of two talkers is read from about 6 dB on, at 3 dB now and then, and at
// less than 1 dB never: every second character is lost then.
//
// Source: TestNoiseCollisions of cmd/looptone (a plain receiver of the rendered tones).
func TestSuperpositionStrongerTalker(t *testing.T) {
	rep := message(t, 5, reply)
	other := message(t, 5, "0680010700003941480000b0") // the same with another value; check byte by hand
	const runs = 40
	for _, level := range []struct {
		volts       float32
		least, most int // whole messages
	}{{0.125, runs, runs}, {0.2, runs, runs}, {0.25, runs - 4, runs}, {0.35, 1, runs - 4}, {0.475, 0, 0}, {0.5, 0, 0}} {
		whole := 0
		for seed := range uint64(runs) {
			evs := both(t, seed, &Burst{Chars: rep}, &Burst{At: 7 * Bit / 2, Chars: other, Level: level.volts})
			if slices.ContainsFunc(evs, func(h Heard) bool { return h.Event.Outcome == frame.Whole && hex.EncodeToString(h.Event.Raw) == reply }) {
				whole++
			}
		}
		if whole < level.least || whole > level.most {
			t.Errorf("0.5 V against %g V: %d of %d whole, want %d to %d", level.volts, whole, runs, level.least, level.most)
		}
	}
}

func TestSuperpositionTailIsHeardAlone(t *testing.T) {
	// The second talker's message is a long one: when the first has fallen
	// silent, what is left of the longer one is heard as it was sent.
	short := message(t, 5, request)
	long := append(message(t, 5, reply), message(t, 3, request)...)
	evs := both(t, 3, &Burst{Chars: short}, &Burst{At: Bit / 2, Chars: long})
	last := evs[len(evs)-1]
	if last.Event.Outcome != frame.Whole || hex.EncodeToString(last.Event.Raw) != request {
		t.Errorf("last heard %v %x, want the request that the longer talker sent alone", last.Event.Outcome, last.Event.Raw)
	}
	if want := Bit/2 + Tick(len(long))*Character; last.End != want {
		t.Errorf("it ended at %d, want %d as sent", last.End, want)
	}
}
