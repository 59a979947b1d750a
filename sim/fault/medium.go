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
	meant  bool     // the fault that it belongs to may strike it
	struck bool     // it has
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
		if f.kind.notHost != "" || !f.meets(port) {
			continue
		}
		in := f.part(now, port)
		if !in.meant || f.spent() && !in.struck {
			continue
		}
		if m == nil {
			m = s.open(&sim.Burst{Chars: chars, Marks: marks})
		}
		if f.kind.message(f, m) && !in.struck {
			in.struck = true
			f.struck++
		}
	}
	if m == nil {
		return chars, marks
	}
	b := s.close(m)
	return b.Chars, b.Marks
}

// part is the message of which characters come in; whether it is meant is drawn with
// its first ones.
func (f *active) part(now sim.Tick, port *sim.Seat) *incoming {
	in := f.incoming[port]
	if in == nil || in.until < now {
		maps.DeleteFunc(f.incoming, func(_ *sim.Seat, in *incoming) bool { return in.until < now })
		if f.incoming == nil {
			f.incoming = map[*sim.Seat]*incoming{}
		}
		in = &incoming{meant: f.strikes(now)}
		f.incoming[port] = in
	}
	in.until = now + pause
	return in
}
