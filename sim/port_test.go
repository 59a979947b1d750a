package sim

import (
	"slices"
	"testing"

	"looptone/frame"
)

// Expect makes a tape a port: it keeps what it is told last.
func (s *port) Expect(now Tick, chars []Char, off Tick) {
	s.told = append(s.told, expectation{now, append([]Char(nil), chars...), off})
}

type port struct {
	tape
	told []expectation
}

type expectation struct {
	now   Tick
	chars []Char
	off   Tick
}

// lineWithPort is a line with a port and somebody who listens.
func lineWithPort() (l *Line, seat *Seat, p *port, listener *tape) {
	p, listener = &port{}, &tape{}
	l = NewLine(1)
	seat = l.Join(p)
	l.Join(listener)
	return l, seat, p, listener
}

func TestPortHearsBurstAtItsStart(t *testing.T) {
	p := &port{}
	l := NewLine(1)
	l.Join(p)
	req := message(t, 5, request)
	l.Join(&tape{bursts: []*Burst{{At: Second, Lead: 5 * Bit, Tail: 3 * Bit, Chars: req}}})
	l.Run(Second)
	if len(p.told) != 1 {
		t.Fatalf("told %d times at the start of the burst, want once", len(p.told))
	}
	e := p.told[0]
	if e.now != Second || len(e.chars) != len(req) || e.chars[0].Start != Second+5*Bit ||
		e.off != Second+5*Bit+Tick(len(req))*Character+3*Bit {
		t.Errorf("told %+v, want all characters with their times", e)
	}
}

func TestPortIsToldAnewOnCollision(t *testing.T) {
	p := &port{}
	l := NewLine(1)
	l.Join(p)
	req := message(t, 5, request)
	second := Tick(4)*Character + Bit/2
	l.Join(&tape{bursts: []*Burst{{Chars: req}}})
	l.Join(&tape{bursts: []*Burst{{At: second, Chars: req}}})
	l.Run(Second)
	if len(p.told) != 2 {
		t.Fatalf("told %d times, want at both starts", len(p.told))
	}
	for _, c := range p.told[1].chars {
		if c.End <= second {
			t.Errorf("told of a character that ended at %d again, at %d", c.End, second)
		}
	}
	if want := second + Tick(len(req))*Character; p.told[1].off != want {
		t.Errorf("carrier off at %d, want %d, the later one's", p.told[1].off, want)
	}
}

func TestArrivalsAreHeardWhenTheyArrive(t *testing.T) {
	l, seat, p, listener := lineWithPort()
	req := message(t, 5, request)
	l.Run(Second)
	l.Arrive(seat, Second, req[:7], nil)
	l.Run(Second + 3*Character)
	l.Arrive(seat, Second+3*Character, req[7:], nil)
	evs := listener.events()
	if len(evs) != 1 || evs[0].Event.Outcome != frame.Whole || evs[0].At != Second+3*Character {
		t.Fatalf("heard %+v, want the request with its last character", evs)
	}
	if len(p.told) != 0 || len(p.events()) != 0 {
		t.Errorf("the port heard itself: %+v %+v", p.told, p.events())
	}
	l.Run(2 * Second)
	last := listener.heard[len(listener.heard)-1]
	if want := Second + 3*Character; last.Carrier != -1 || last.At != want {
		t.Errorf("last heard %+v, want carrier off at %d, with the frame's last character", last, want)
	}
}

func TestSilenceOfAPortEndsItsMessage(t *testing.T) {
	l, seat, _, listener := lineWithPort()
	req := message(t, 5, request)
	l.Run(Second)
	l.Arrive(seat, Second, req[:7], nil)
	l.Run(Second + 8*Character)
	if last := listener.heard[len(listener.heard)-1]; last.Carrier != -1 || last.At != Second+portSilence {
		t.Errorf("last heard %+v, want carrier off at %d, the silence behind the last", last, Second+portSilence)
	}
	l.Arrive(seat, Second+8*Character, req[7:], nil)
	l.Run(2 * Second)
	for _, ev := range listener.events() {
		if ev.Event.Outcome == frame.Whole {
			t.Errorf("a request with a silence of eight characters in it was heard whole")
		}
	}
}

// A host without character timing sends all of its next request at once, right
// behind a reply. None of it began before the reply's carrier was off, so that
// the device that has just replied hears it.
func TestRequestAtOnceBehindReplyIsHeardByItsTalker(t *testing.T) {
	rep, req := message(t, 5, reply), message(t, 5, request)
	off := Second + Tick(len(rep))*Character + 3*Bit
	p, device := &port{}, &tape{bursts: []*Burst{{At: Second, Tail: 3 * Bit, Chars: rep}}}
	l := NewLine(1)
	seat := l.Join(p)
	l.Join(device)
	l.Run(off + 2*Character)
	l.Arrive(seat, off+2*Character, req, nil)
	evs := device.events()
	if len(evs) != 1 || evs[0].Event.Outcome != frame.Whole || evs[0].Begin < off {
		t.Errorf("the device heard %+v, want the request, begun not before %d", evs, off)
	}
}

func TestArrivalsWhileADeviceTalksAreSpoilt(t *testing.T) {
	p, listener := &port{}, &tape{}
	l := NewLine(1)
	seat := l.Join(p)
	l.Join(&tape{bursts: []*Burst{{At: Second, Chars: message(t, 5, reply)}}})
	l.Join(listener)
	l.Run(Second + 7*Character)
	l.Arrive(seat, Second+7*Character, message(t, 5, request), nil)
	l.Run(3 * Second)
	for _, ev := range listener.events() {
		if ev.Event.Outcome == frame.Whole {
			t.Errorf("heard %x whole although two talked at once", ev.Event.Raw)
		}
	}
}

// Two hosts that send at once, character by character, spoil each other; when
// both are done, the line is as good as before.
func TestTwoPortsAtOnceAreSuperposed(t *testing.T) {
	listener := &tape{}
	l := NewLine(1)
	ports := []*Seat{l.Join(&port{}), l.Join(&port{})}
	l.Join(listener)
	messages := [][]byte{message(t, 5, request), message(t, 5, "0281010082")}
	for i := range messages[0] {
		for p, seat := range ports {
			now := Second + Tick(i)*Character + Tick(p)*Character/3
			l.Run(now)
			l.Arrive(seat, now, messages[p][i:i+1], nil)
		}
	}
	l.Run(2 * Second)
	for _, ev := range listener.events() {
		if ev.Event.Outcome == frame.Whole {
			t.Errorf("heard %x whole although two talked at once", ev.Event.Raw)
		}
	}
	before := len(listener.heard)
	l.Arrive(ports[0], 2*Second, messages[0], nil)
	l.Run(3 * Second)
	listener.heard = listener.heard[before:]
	if evs := listener.events(); len(evs) != 1 || evs[0].Event.Outcome != frame.Whole {
		t.Errorf("a request behind it: heard %+v, want it whole", evs)
	}
}

// What a port sends faster than the line carries is lost; neither the line nor
// memory fills up with it.
func TestNoiseFromAPortIsLost(t *testing.T) {
	listener, other := &tape{}, &port{}
	l := NewLine(1)
	seat := l.Join(&port{})
	l.Join(other)
	l.Join(listener)
	noise := make([]byte, 4096)
	for i := range 100 {
		now := Second + Tick(i)*Millisecond
		l.Run(now)
		l.Arrive(seat, now, noise, nil)
	}
	end := Second + 100*Millisecond
	l.Run(end)
	heard := 0
	for _, ev := range listener.events() {
		heard += ev.Event.Preambles + len(ev.Event.Raw)
	}
	if most := int(portAhead/Character) + 20; heard > most {
		t.Errorf("heard %d characters in 100 ms, want at most %d", heard, most)
	}
	l.Leave(seat)
	l.Run(end + portAhead + 2*portSilence)
	if l.air.talking() || l.air.port != nil {
		t.Error("the line is still not free when the port has gone")
	}
}

func TestLongRunOfOneCharacterIsANumber(t *testing.T) {
	l, seat, _, listener := lineWithPort()
	now := Second
	for range 50_000 {
		now += Character
		l.Run(now)
		l.Arrive(seat, now, []byte{0xff}, nil)
	}
	if n := len(l.air.chars); n > 4*keptChars {
		t.Errorf("%d characters are kept, want a bounded number", n)
	}
	for _, c := range message(t, 0, request) {
		now += Character
		l.Run(now)
		l.Arrive(seat, now, []byte{c}, nil)
	}
	evs := listener.events()
	if len(evs) != 1 || evs[0].Event.Preambles != 50_000 {
		t.Errorf("heard %+v, want a request behind 50000 preambles", evs)
	}
}

// A station that joins while somebody talks hears the carrier, and nothing of a frame
// that too few preambles are left of; a port is told of the rest.
func TestJoiningInTheMiddle(t *testing.T) {
	l := NewLine(1)
	req := message(t, 5, request)
	l.Join(&tape{bursts: []*Burst{{At: Second, Chars: req, Tail: 2 * Bit}}})
	l.Run(Second + 4*Character)
	late := &port{}
	l.Join(late)
	l.Run(2 * Second)
	if len(late.told) != 1 || len(late.told[0].chars) == 0 {
		t.Fatalf("told %+v, want the rest of the burst", late.told)
	}
	if len(late.heard) != 2 || late.heard[0].Carrier != +1 || late.heard[1].Carrier != -1 {
		t.Errorf("heard %+v, want carrier on and off", late.heard)
	}
}

// A host may be there before the line begins: its first message comes at once.
func TestFirstMessageAtOnceIsHeard(t *testing.T) {
	l, seat, _, listener := lineWithPort()
	l.Run(0)
	l.Arrive(seat, -Second, message(t, 5, request), nil)
	if evs := listener.events(); len(evs) != 1 || evs[0].Event.Outcome != frame.Whole {
		t.Errorf("heard %+v, want the request", evs)
	}
}

// TestPortAnswersAtOnce: a host that sends its message at once, right behind the last
// character and before the carrier is off, is heard at once, and by everybody.
func TestPortAnswersAtOnce(t *testing.T) {
	for _, c := range []struct{ tail, within Tick }{{3 * Bit, 3 * Bit}, {Second, 11 * Character}} {
		l, seat, _, listener := lineWithPort()
		b := &Burst{At: Second, Lead: 5 * Bit, Tail: c.tail, Chars: message(t, 5, reply)}
		talker := &tape{bursts: []*Burst{b}}
		l.Join(talker)
		end := b.Start(len(b.Chars))
		l.Run(end)
		l.Arrive(seat, end, message(t, 5, request), nil)
		l.Run(end + 2*Second)
		evs := listener.events()
		if len(evs) != 2 || evs[1].Event.Outcome != frame.Whole && c.tail == 3*Bit {
			t.Fatalf("tail of %d ticks: heard %+v, want the reply and the request", c.tail, evs)
		}
		if late := evs[1].End - end; late > c.within {
			t.Errorf("tail of %d ticks: the request ends %d ticks behind, want at most %d", c.tail, late, c.within)
		}
		if _, off := listener.carriers(); c.tail == 3*Bit && !slices.Equal(off, []Tick{b.Off()}) {
			t.Errorf("carriers went off at %d, want one at %d, with the request", off, b.Off())
		}
		if n := len(talker.events()); c.tail == 3*Bit && n != 1 {
			t.Errorf("the one who has just talked heard %d messages, want 1", n)
		}
	}
}

// TestPortAnswersWithACarrierOfItsOwn: where it answers at once, the carrier before is over.
func TestPortAnswersWithACarrierOfItsOwn(t *testing.T) {
	l, seat, _, listener := lineWithPort()
	b := &Burst{At: Second, Tail: 3 * Bit, Chars: []byte{0x55, 0xaa}}
	l.Join(&tape{bursts: []*Burst{b}})
	l.Seats()[1].DetectAfter(2*Character + Bit) // a bit more than has gone by when the port begins
	l.Run(Second + 2*Character)
	l.Arrive(seat, Second+2*Character, message(t, 5, request), nil)
	l.Run(2 * Second)
	if on, _ := listener.carriers(); len(on) > 0 {
		t.Errorf("a carrier is heard from %d on; neither was on for so long", on)
	}
}
