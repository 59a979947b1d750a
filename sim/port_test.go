package sim

import (
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
	p, listener := &port{}, &tape{}
	l := NewLine(1)
	seat := l.Join(p)
	l.Join(listener)
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
	if want := Second + 3*Character + portSilence; last.Carrier != -1 || last.At != want {
		t.Errorf("last heard %+v, want carrier off at %d, the silence behind the last", last, want)
	}
}

func TestSilenceOfAPortEndsItsMessage(t *testing.T) {
	p, listener := &port{}, &tape{}
	l := NewLine(1)
	seat := l.Join(p)
	l.Join(listener)
	req := message(t, 5, request)
	l.Run(Second)
	l.Arrive(seat, Second, req[:7], nil)
	l.Run(Second + 8*Character)
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
