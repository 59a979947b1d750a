package sim

import (
	"slices"
	"testing"

	"looptone/frame"
)

// carriers are the moments at which a carrier was heard going on and off.
func (s *tape) carriers() (on, off []Tick) {
	for _, h := range s.heard {
		switch {
		case h.Carrier > 0:
			on = append(on, h.At)
		case h.Carrier < 0:
			off = append(off, h.At)
		}
	}
	return on, off
}

// A polite station begins to talk at its moment, unless it hears a carrier.
type polite struct {
	at    Tick
	chars []byte
	busy  bool
	sent  bool
}

func (s *polite) Step(now Tick, heard []Heard) (*Burst, Tick) {
	for _, h := range heard {
		if h.Carrier != 0 {
			s.busy = h.Carrier > 0
		}
	}
	switch {
	case s.busy || s.sent:
		return nil, Never
	case now < s.at:
		return nil, s.at
	}
	s.sent = true
	return &Burst{At: now, Lead: CarrierLead, Tail: CarrierTail, Chars: s.chars}, Never
}

// spans gives when carriers were on, as a line logs them.
func spans(l *Line) *[][2]Tick {
	var list [][2]Tick
	l.Log(func(_ *Seat, b *Burst) { list = append(list, [2]Tick{b.At, b.Off()}) })
	return &list
}

func TestWhoLooksBeforeTalkingNeverCollides(t *testing.T) {
	l := NewLine(1)
	log := spans(l)
	for range 4 {
		l.Join(&polite{at: Second, chars: message(t, 5, request)})
	}
	l.Run(10 * Second)
	if len(*log) != 4 {
		t.Fatalf("%d of four stations that had the same moment in mind have talked", len(*log))
	}
	for i, s := range (*log)[1:] {
		if before := (*log)[i]; s[0] < before[1] {
			t.Errorf("carrier on at %d, where that of another one was on until %d", s[0], before[1])
		}
	}
}

// TestLateCarrierDetect: two stations overlap only when the second one begins
// before it could have noticed the first.
func TestLateCarrierDetect(t *testing.T) {
	const late = 6 * Bit
	for _, c := range []struct {
		after    Tick
		overlaps bool
	}{{0, true}, {late - 1, true}, {late, false}, {late + 1, false}} {
		l := NewLine(1)
		log := spans(l)
		l.Join(&polite{at: Second, chars: message(t, 5, request)})
		l.Join(&polite{at: Second + c.after, chars: message(t, 5, request)}).DetectAfter(late)
		l.Run(10 * Second)
		if got := (*log)[1][0] < (*log)[0][1]; got != c.overlaps {
			t.Errorf("second station wants to talk %d ticks behind the first, carrier detect %d: overlap %v, want %v", c.after, late, got, c.overlaps)
		}
	}
}

func TestCarrierIsToldAfterItsDelay(t *testing.T) {
	l := NewLine(1)
	l.Join(&tape{bursts: []*Burst{{At: Second, Lead: 5 * Bit, Tail: 3 * Bit, Chars: message(t, 5, request)}}})
	listener := &tape{}
	l.Join(listener).DetectAfter(4 * Bit)
	l.Run(2 * Second)
	on, off := listener.carriers()
	end := Second + 5*Bit + 10*Character + 3*Bit
	if len(on) != 1 || len(off) != 1 || on[0] != Second+4*Bit || off[0] != end {
		t.Errorf("carrier told on at %v and off at %v, want %d and %d", on, off, Second+4*Bit, end)
	}
}

// TestMuteCutEcho: who is heard, and who hears what.
func TestMuteCutEcho(t *testing.T) {
	for _, c := range []struct {
		name                  string
		set                   func(talker, listener *Seat)
		heard, heardByItself  int
		sent                  int64
		carrierHeard, dropped bool
	}{
		{"nothing", func(_, _ *Seat) {}, 1, 0, 10, true, false},
		{"talker mute", func(s, _ *Seat) { s.Mute(true) }, 0, 0, 0, false, true},
		{"talker cut", func(s, _ *Seat) { s.Cut(true) }, 0, 0, 0, false, true},
		{"listener mute", func(_, s *Seat) { s.Mute(true) }, 1, 0, 10, true, false},
		{"listener cut", func(_, s *Seat) { s.Cut(true) }, 0, 0, 10, false, false},
		{"talker with echo", func(s, _ *Seat) { s.Echo(true) }, 1, 1, 10, true, false},
		{"mute and back", func(s, _ *Seat) { s.Mute(true); s.Mute(false) }, 1, 0, 10, true, false},
		{"cut and back", func(s, _ *Seat) { s.Cut(true); s.Cut(false) }, 1, 0, 10, true, false},
	} {
		l := NewLine(1)
		talker := &tape{bursts: []*Burst{{At: Second, Lead: 5 * Bit, Tail: 3 * Bit, Chars: message(t, 5, request)}}}
		listener := &tape{}
		from, to := l.Join(talker), l.Join(listener)
		log := spans(l)
		c.set(from, to)
		l.Run(2 * Second)
		on, _ := listener.carriers()
		if len(listener.events()) != c.heard || len(talker.events()) != c.heardByItself || from.Sent() != c.sent ||
			(len(on) > 0) != c.carrierHeard || (len(*log) == 0) != c.dropped {
			t.Errorf("%s: listener heard %d, talker %d, %d characters sent, %d carriers heard, %d bursts logged",
				c.name, len(listener.events()), len(talker.events()), from.Sent(), len(on), len(*log))
		}
	}
}

// TestCutInTheMiddle: who is put back on the wires hears nothing that began
// before, and who was taken off does not hear what began before that either.
func TestCutInTheMiddle(t *testing.T) {
	for _, c := range []struct {
		off, on Tick
		heard   int
	}{
		{Second / 2, Second / 2, 1},
		{Second / 2, Second + 5*Character, 0},
		{Second + 5*Character, 5 * Second, 0},
		{Second + 5*Character, Second + 6*Character, 0},
	} {
		l := NewLine(1)
		l.Join(&tape{bursts: []*Burst{{At: Second, Chars: message(t, 5, request)}}})
		listener := &tape{}
		seat := l.Join(listener)
		l.Run(c.off)
		seat.Cut(true)
		l.Run(c.on)
		seat.Cut(false)
		l.Run(10 * Second)
		if n := len(listener.events()); n != c.heard {
			t.Errorf("off the wires from %d to %d: heard %d frames, want %d", c.off, c.on, n, c.heard)
		}
		if on, off := listener.carriers(); len(on) != len(off) {
			t.Errorf("off the wires from %d to %d: %d carriers went on, %d off", c.off, c.on, len(on), len(off))
		}
	}
}

// TestCutDropsWhatWaits: what was to be sent is not, and keeps nothing waiting.
func TestCutDropsWhatWaits(t *testing.T) {
	l := NewLine(1)
	talker := &tape{bursts: []*Burst{{At: 0, Lead: 5 * Second, Chars: message(t, 5, request)}}}
	seat := l.Join(delaying{talker, 2 * Second})
	log := spans(l)
	l.Run(Second)
	seat.Cut(true)
	seat.Cut(false)
	talker.bursts = []*Burst{{At: Second, Chars: message(t, 5, request)}}
	l.Run(20 * Second)
	if len(*log) != 1 || (*log)[0][0] != 3*Second {
		t.Errorf("sent at %v, want once, at %d", *log, 3*Second)
	}
}

// delaying has a tape's bursts begin later than they are given to the line.
type delaying struct {
	*tape
	by Tick
}

func (d delaying) Step(now Tick, heard []Heard) (*Burst, Tick) {
	b, wake := d.tape.Step(now, heard)
	if b != nil {
		b.At += d.by
	}
	return b, wake
}

// TestWeakSignal against the levels of the source: nobody is heard at 80 mV peak
// to peak, everybody at 120 mV, and half of the bursts in the middle.
//
// Source: Texas Instruments SLAAER4 (Mar 2025), 3.4.8 table 3-8.
func TestWeakSignal(t *testing.T) {
	const runs = 400
	for _, c := range []struct {
		volts       float32
		least, most int
	}{{0.05, 0, 0}, {0.08, 0, 0}, {0.1, 150, 250}, {0.12, runs, runs}, {0.5, runs, runs}} {
		heard := 0
		for seed := range uint64(runs) {
			l := NewLine(seed)
			l.Join(&tape{bursts: []*Burst{{At: Second, Chars: message(t, 5, request), Level: c.volts}}})
			listener := &tape{}
			l.Join(listener)
			l.Run(2 * Second)
			switch on, _ := listener.carriers(); {
			case len(on) != len(listener.events()):
				t.Fatalf("%g V: %d carriers and %d frames heard", c.volts, len(on), len(listener.events()))
			case len(on) > 0:
				heard++
			}
		}
		if heard < c.least || heard > c.most {
			t.Errorf("%g V: %d of %d bursts heard, want %d to %d", c.volts, heard, runs, c.least, c.most)
		}
	}
}

// A comer is a station that joins another one in its step, and leaves.
type comer struct {
	line  *Line
	other Station
	seat  *Seat
	came  Tick
}

func (s *comer) Step(now Tick, _ []Heard) (*Burst, Tick) {
	switch {
	case s.seat == nil:
		s.seat, s.came = s.line.Join(s.other), now
	case now >= s.came+Second:
		s.line.Leave(s.seat)
		return nil, Never
	}
	return nil, s.came + Second
}

func TestJoinAndLeaveInAStep(t *testing.T) {
	l := NewLine(1)
	guest := &tape{bursts: []*Burst{{At: Second / 2, Chars: message(t, 5, request)}, {At: 2 * Second, Chars: message(t, 5, request)}}}
	l.Join(&comer{line: l, other: guest})
	listener := &tape{}
	l.Join(listener)
	l.Run(5 * Second)
	if n := len(listener.events()); n != 1 {
		t.Errorf("heard %d bursts of a guest that left between its two, want 1", n)
	}
	if evs := listener.events(); evs[0].Event.Outcome != frame.Whole {
		t.Errorf("heard %+v, want a whole frame", evs[0].Event)
	}
}

// leaver has another station leave when its moment has come.
type leaver struct {
	line *Line
	at   Tick
	who  *Seat
}

func (s *leaver) Step(now Tick, _ []Heard) (*Burst, Tick) {
	if now < s.at {
		return nil, s.at
	}
	s.line.Leave(s.who)
	return nil, Never
}

// TestWhoHasLeftIsSilent: a station that another one has leave the line does not begin
// to talk at that very moment.
func TestWhoHasLeftIsSilent(t *testing.T) {
	l := NewLine(1)
	first := &leaver{line: l, at: Second}
	l.Join(first)
	first.who = l.Join(&tape{bursts: []*Burst{{At: Second, Chars: message(t, 5, request)}}})
	listener := &tape{}
	l.Join(listener)
	l.Run(5 * Second)
	if len(listener.heard) > 0 {
		t.Errorf("heard %+v of a station that had left", listener.heard)
	}
}

// hasty wants to be woken at once, for ever.
type hasty struct{ steps int }

func (s *hasty) Step(now Tick, _ []Heard) (*Burst, Tick) {
	if s.steps++; s.steps > 1000 {
		panic("stepped for ever at one moment")
	}
	return nil, now
}

// TestLineGoesOnWhateverAStationWants: it is stepped once a moment at the most.
func TestLineGoesOnWhateverAStationWants(t *testing.T) {
	l := NewLine(1)
	s := &hasty{}
	l.Join(s)
	if l.Run(100); s.steps != 101 {
		t.Errorf("stepped %d times in 100 ticks, want 101 times, from 0 on", s.steps)
	}
}

// TestWhoHasJustTalked: a station that has just sent its last character hears who
// begins right behind it, without the preambles that its own carrier has covered; of a
// frame that is left with one preamble it hears noise at the most.
func TestWhoHasJustTalked(t *testing.T) {
	for _, c := range []struct {
		tail            Tick
		preambles, want int // sent, heard at least; 0 for nothing
	}{{0, 5, 5}, {3 * Bit, 5, 4}, {2 * Character, 5, 3}, {2 * Character, 4, 2}, {2 * Character, 3, 0}, {7 * Character, 5, 0}} {
		first := &Burst{At: Second, Lead: 5 * Bit, Tail: c.tail, Chars: message(t, 5, reply)}
		host := &tape{bursts: []*Burst{{At: first.Start(len(first.Chars)), Chars: message(t, c.preambles, request)}}}
		talker := &tape{bursts: []*Burst{first}}
		l := NewLine(1)
		l.Join(talker)
		l.Join(host)
		l.Run(5 * Second)
		evs := talker.events()
		switch {
		case c.want == 0 && slices.ContainsFunc(evs, func(h Heard) bool { return h.Event.Outcome != frame.Noise || h.Begin < first.Off() }):
			t.Errorf("tail of %d ticks, %d preambles: heard %+v, want noise behind its own carrier at the most", c.tail, c.preambles, evs)
		case c.want > 0 && (len(evs) != 1 || evs[0].Event.Outcome != frame.Whole || evs[0].Event.Preambles > c.want || evs[0].Event.Preambles < 2):
			t.Errorf("tail of %d ticks, %d preambles: heard %+v, want one frame with 2 to %d preambles", c.tail, c.preambles, evs, c.want)
		case c.want > 0 && evs[0].Begin < first.Off():
			t.Errorf("tail of %d ticks: heard what began at %d, before its own carrier was off at %d", c.tail, evs[0].Begin, first.Off())
		}
	}
}
