package sim

import (
	"slices"
	"testing"

	"looptone/frame"
)

// A Medium made of two functions.
type medium struct {
	send   func(now Tick, talker *Seat, b *Burst) *Burst
	arrive func(chars []byte, marks []frame.MarkAt) ([]byte, []frame.MarkAt)
}

func (m medium) Send(now Tick, talker *Seat, b *Burst) *Burst { return m.send(now, talker, b) }

func (m medium) Arrive(_ Tick, _ *Seat, chars []byte, marks []frame.MarkAt) ([]byte, []frame.MarkAt) {
	return m.arrive(chars, marks)
}

func TestMediumChangesDropsAndMovesBursts(t *testing.T) {
	for _, c := range []struct {
		name    string
		send    func(now Tick, talker *Seat, b *Burst) *Burst
		outcome frame.Outcome
		began   Tick
	}{
		{"as it is", func(_ Tick, _ *Seat, b *Burst) *Burst { return b }, frame.Whole, Second},
		{"dropped", func(Tick, *Seat, *Burst) *Burst { return nil }, 0, 0},
		{"later", func(_ Tick, _ *Seat, b *Burst) *Burst { b.At += Second; return b }, frame.Whole, 2 * Second},
		{"spoilt", func(_ Tick, _ *Seat, b *Burst) *Burst { b.Chars[9] ^= 1; return b }, frame.Damaged, Second},
		{"by name", func(_ Tick, s *Seat, b *Burst) *Burst {
			if s.Name != "talker" {
				return b
			}
			return nil
		}, 0, 0},
	} {
		l := NewLine(1)
		l.Through(medium{send: c.send})
		l.Join(&tape{bursts: []*Burst{{At: Second, Chars: message(t, 5, request)}}}).Name = "talker"
		listener := &tape{}
		l.Join(listener)
		l.Run(5 * Second)
		var got Heard
		if evs := listener.events(); len(evs) > 0 {
			got = evs[0]
		}
		if got.Event.Outcome != c.outcome || got.Begin != c.began {
			t.Errorf("%s: heard %v from %d, want %v from %d", c.name, got.Event.Outcome, got.Begin, c.outcome, c.began)
		}
	}
}

func TestMediumChangesWhatComesFromOutside(t *testing.T) {
	l := NewLine(1)
	l.Through(medium{arrive: func(chars []byte, marks []frame.MarkAt) ([]byte, []frame.MarkAt) {
		if len(chars) > 1 {
			return nil, nil
		}
		return chars, []frame.MarkAt{{Pos: 0, Mark: frame.Parity}}
	}})
	listener := &tape{}
	l.Join(listener)
	host := l.Join(&port{})
	l.Run(Second)
	l.Arrive(host, Second, []byte{0xff, 0xff}, nil)
	l.Arrive(host, Second, []byte{0x55}, nil)
	l.Run(2 * Second)
	evs := listener.events()
	if len(evs) != 1 || evs[0].Event.Outcome != frame.Noise || len(evs[0].Event.Raw) != 1 {
		t.Fatalf("heard %+v, want the one character that was let through", evs)
	}
	if host.Sent() != 1 {
		t.Errorf("%d characters of the host on the line, want 1", host.Sent())
	}
}

// TestTalkerNoticesItsOwnCarrier: a station that is on the line for longer, or later, than
// it meant to be finds the line busy from then on, whether or not it hears its echo.
func TestTalkerNoticesItsOwnCarrier(t *testing.T) {
	chars := message(t, 5, request)
	meant := (&Burst{At: Second, Lead: CarrierLead, Tail: CarrierTail, Chars: chars}).Off()
	for _, c := range []struct {
		name    string
		echo    bool
		send    func(now Tick, talker *Seat, b *Burst) *Burst
		on, off []Tick
	}{
		{"as it is", false, func(_ Tick, _ *Seat, b *Burst) *Burst { return b }, nil, nil},
		{"dropped", false, func(Tick, *Seat, *Burst) *Burst { return nil }, nil, nil},
		{"shorter", false, func(_ Tick, _ *Seat, b *Burst) *Burst { b.Chars = b.Chars[:7]; return b }, nil, nil},
		{"longer", false, func(_ Tick, _ *Seat, b *Burst) *Burst { b.Tail += Second; return b }, []Tick{meant}, []Tick{meant + Second}},
		{"longer, with an echo", true, func(_ Tick, _ *Seat, b *Burst) *Burst { b.Tail += Second; return b }, []Tick{meant}, []Tick{meant + Second}},
		{"later", false, func(_ Tick, _ *Seat, b *Burst) *Burst { b.At += Second; return b }, []Tick{2 * Second}, []Tick{meant + Second}},
	} {
		l := NewLine(1)
		l.Through(medium{send: c.send})
		talker := &tape{bursts: []*Burst{{At: Second, Lead: CarrierLead, Tail: CarrierTail, Chars: chars}}}
		l.Join(talker).Echo(c.echo)
		l.Run(5 * Second)
		if on, off := talker.carriers(); !slices.Equal(on, c.on) || !slices.Equal(off, c.off) {
			t.Errorf("%s: heard a carrier from %d to %d, want from %d to %d", c.name, on, off, c.on, c.off)
		}
	}
}

// TestStationOffTheWiresHearsNoCarrierOfItsOwn, nor does a port whose characters go on the
// line while somebody else talks.
func TestStationOffTheWiresHearsNoCarrierOfItsOwn(t *testing.T) {
	l := NewLine(1)
	l.Through(medium{send: func(_ Tick, _ *Seat, b *Burst) *Burst { b.Tail += Second; return b }})
	talker := &tape{bursts: []*Burst{{At: Second, Lead: CarrierLead, Tail: CarrierTail, Chars: message(t, 5, request)}}}
	seat := l.Join(talker)
	l.Run(Second + Character)
	seat.Cut(true)
	l.Run(5 * Second)
	if len(talker.heard) > 0 {
		t.Errorf("heard %+v off the wires", talker.heard)
	}

	l, seat, host, _ := lineWithPort()
	l.Join(&tape{bursts: []*Burst{{At: Second, Tail: Second, Chars: message(t, 5, request)}}})
	arrives := Second + Second/2
	l.Run(arrives)
	l.Arrive(seat, arrives, message(t, 5, request), nil)
	l.Run(5 * Second)
	if on, off := host.carriers(); !slices.Equal(on, []Tick{Second, arrives + 10*Character}) || !slices.Equal(off, []Tick{arrives, 2*Second + 10*Character}) {
		t.Errorf("the port heard a carrier from %d to %d, want the other one's but for its own characters", on, off)
	}
}

// TestPauses: characters behind a pause come later, the ones in front do not; a
// pause above one character is damage to a receiver.
//
// Source: R. Bowden's HART message board, posts 2169 and 2228 (a gap is longer than
// one character time).
func TestPauses(t *testing.T) {
	for _, c := range []struct {
		pause   Tick
		outcome frame.Outcome
	}{{0, frame.Whole}, {Character / 2, frame.Whole}, {Character, frame.Whole}, {Character + 1, frame.Damaged}, {3 * Character, frame.Damaged}} {
		b := &Burst{At: Second, Lead: 5 * Bit, Tail: 3 * Bit, Chars: message(t, 5, request), Pauses: []Pause{{Before: 8, For: c.pause}}}
		if got, want := b.End(7), Second+5*Bit+8*Character; got != want {
			t.Errorf("pause of %d: the character in front ends at %d, want %d", c.pause, got, want)
		}
		if got, want := b.Start(8), b.End(7)+c.pause; got != want {
			t.Errorf("pause of %d: the character behind begins at %d, want %d", c.pause, got, want)
		}
		if got, want := b.Off(), Second+5*Bit+10*Character+c.pause+3*Bit; got != want {
			t.Errorf("pause of %d: carrier off at %d, want %d", c.pause, got, want)
		}
		listener := &tape{}
		l := NewLine(1)
		l.Join(&tape{bursts: []*Burst{b}})
		l.Join(listener)
		l.Run(5 * Second)
		if evs := listener.events(); len(evs) == 0 || evs[0].Event.Outcome != c.outcome {
			t.Errorf("pause of %d ticks: heard %+v, want %v", c.pause, evs, c.outcome)
		}
	}
}

// TestPausesInASuperposition: with a carrier beside it that sends nothing, a burst
// with pauses is heard as it is without.
func TestPausesInASuperposition(t *testing.T) {
	pauses := []Pause{{Before: 2, For: 3*Bit + 17}, {Before: 7, For: Character / 2}, {Before: 7, For: 100}, {Before: 9, For: 2 * Bit}}
	hear := func(beside *Burst) Heard {
		l := NewLine(1)
		l.Join(&tape{bursts: []*Burst{{At: Second, Lead: 5 * Bit, Tail: 3 * Bit, Chars: message(t, 5, request), Pauses: pauses, PPM: 400}}})
		l.Join(&tape{bursts: []*Burst{beside}})
		listener := &tape{}
		l.Join(listener)
		l.Run(5 * Second)
		for _, h := range listener.events() { // where a carrier comes on beside another one, noise may be heard
			if h.Event.Outcome == frame.Whole {
				return h
			}
		}
		return Heard{}
	}
	alone := hear(&Burst{At: 4 * Second, Tail: Bit})
	both := hear(&Burst{At: Second / 2, Tail: 2 * Second, Level: 0.2})
	if alone.Event.Outcome != frame.Whole || both.Event.Outcome != frame.Whole {
		t.Fatalf("heard %v alone, %v beside a silent carrier, want whole frames", alone.Event.Outcome, both.Event.Outcome)
	}
	if d := both.End - alone.End; d < -Bit || d > Bit {
		t.Errorf("its end was heard %d ticks apart", d)
	}
}

// TestCarrierThatDoesNotEnd: the memory of a line with a carrier that stays on does
// not grow with what is said meanwhile.
func TestCarrierThatDoesNotEnd(t *testing.T) {
	l := NewLine(1)
	talker := &tape{}
	for i := range Tick(2000) {
		talker.bursts = append(talker.bursts, &Burst{At: (i + 1) * Second, Lead: 5 * Bit, Tail: 3 * Bit, Chars: message(t, 5, request)})
	}
	l.Join(&tape{bursts: []*Burst{{At: Second / 2, Tail: 3000 * Second, Level: 0.2}}})
	l.Join(talker)
	listener := &tape{}
	l.Join(listener)
	l.Run(4000 * Second)
	whole := 0
	for _, h := range listener.events() {
		if h.Event.Outcome == frame.Whole {
			whole++
		}
	}
	if whole != 2000 {
		t.Errorf("heard %d of 2000 frames beside a silent carrier that is much weaker", whole)
	}
	if n := cap(l.air.chars); n > 4*keptChars {
		t.Errorf("the line remembers %d characters", n)
	}
	if n := cap(l.air.talks); n > 16 {
		t.Errorf("the line remembers %d bursts", n)
	}
}

func TestLogHasAllThatWasSent(t *testing.T) {
	l := NewLine(1)
	var logged, heard int64
	l.Log(func(_ *Seat, b *Burst) { logged += int64(len(b.Chars)) })
	a := l.Join(&tape{bursts: []*Burst{{At: Second, Chars: message(t, 5, request)}, {At: 3 * Second, Chars: message(t, 5, reply)}}})
	listener := &tape{}
	l.Join(listener)
	host := l.Join(&port{})
	l.Run(5 * Second)
	for i, c := range message(t, 5, request) {
		at := 5*Second + Tick(i+1)*Character
		l.Run(at)
		l.Arrive(host, at, []byte{c}, nil)
	}
	l.Run(10 * Second)
	for _, h := range listener.events() {
		heard += int64(len(h.Event.Raw) + h.Event.Preambles)
	}
	if sent := a.Sent() + host.Sent(); logged != sent || heard != sent || sent == 0 {
		t.Errorf("%d characters sent, %d logged, %d heard", sent, logged, heard)
	}
}
