package fault

import (
	"maps"
	"slices"

	"looptone/frame"
	"looptone/sim"
)

// Send lets the faults strike what a station sends; see [sim.Medium]. b itself is
// not changed.
func (s *Set) Send(now sim.Tick, talker *sim.Seat, b *sim.Burst) *sim.Burst {
	if s.idle || slices.Contains(s.chatters, talker) {
		return b
	}
	s.tuneLate(talker)
	var m *message
	for _, f := range s.messages {
		if !f.meets(talker) || !f.strikes(max(now, b.At)) {
			continue
		}
		if m == nil {
			m = s.open(b)
		}
		if f.kind.message(f, m) {
			f.struck++
		}
	}
	if m == nil {
		return b
	}
	return s.close(m)
}

// pause is how long a host is silent, at least, between two messages: five
// characters, and what a port may be late.
//
// Source: common practice (16 ms is usual behind a USB adapter).
const pause = 5*sim.Character + 16*sim.Millisecond

// incoming is a message that comes in from outside in parts.
type incoming struct {
	until  sim.Tick // unless more comes before, it is over then
	struck bool     // by the fault that it belongs to
}

// Arrive is the same for characters that come in from outside, as they come. A
// fault strikes a message as a whole, or not; it begins behind a silence.
func (s *Set) Arrive(now sim.Tick, port *sim.Seat, chars []byte, marks []frame.MarkAt) ([]byte, []frame.MarkAt) {
	if s.idle || len(chars) == 0 {
		return chars, marks
	}
	s.tuneLate(port)
	var m *message
	for _, f := range s.messages {
		if f.kind.notHost != "" || !f.meets(port) || !f.strikesPart(now, port) {
			continue
		}
		if m == nil {
			m = s.open(&sim.Burst{Chars: chars, Marks: marks})
		}
		f.kind.message(f, m)
	}
	if m == nil {
		return chars, marks
	}
	b := s.close(m)
	return b.Chars, b.Marks
}

// strikesPart reports whether f strikes the message of which characters come in;
// that is drawn with its first ones.
func (f *active) strikesPart(now sim.Tick, port *sim.Seat) bool {
	in, known := f.incoming[port]
	if !known || in.until < now {
		in.struck = f.strikes(now)
		if in.struck {
			f.struck++
		}
		maps.DeleteFunc(f.incoming, func(_ *sim.Seat, in incoming) bool { return in.until < now })
	}
	in.until = now + pause
	if f.incoming == nil {
		f.incoming = map[*sim.Seat]incoming{}
	}
	f.incoming[port] = in
	return in.struck
}
