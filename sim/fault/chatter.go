package fault

import (
	"slices"

	"looptone/frame"
	"looptone/sim"
)

// chatter is a station that talks whenever it likes, without listening.
type chatter struct {
	fault *active
	every sim.Tick // from the end of one burst to the next, on the average
	next  sim.Tick
	speak func(f *active) *sim.Burst
}

// Step talks when the time has come, if there is power for it.
func (c *chatter) Step(now sim.Tick, _ []sim.Heard) (*sim.Burst, sim.Tick) {
	if now < c.next {
		return nil, c.next
	}
	c.next = now + c.fault.distance(c.every) + 1
	if m := c.fault.member; m != nil && m.dark || !c.fault.strikes(now) {
		return nil, c.next
	}
	c.fault.struck++
	b := c.speak(c.fault)
	b.At = now
	c.next += b.Off() - now
	return b, c.next
}

// beginChatter gives such a station a seat.
func (s *Set) beginChatter(f *active, now sim.Tick, name string, speak func(f *active) *sim.Burst) {
	c := &chatter{fault: f, every: f.ticks("every_s", sim.Second), speak: speak}
	c.next = now + f.distance(c.every) + 1
	f.seat = s.line.Join(c)
	f.seat.Name = name
	s.chatters = append(s.chatters, f.seat)
}

// endChatter takes it off the line; what it has begun to say goes on.
func endChatter(s *Set, f *active, _ sim.Tick) {
	s.line.Leave(f.seat)
	s.chatters = slices.DeleteFunc(s.chatters, func(c *sim.Seat) bool { return c == f.seat })
}

func beginBabble(s *Set, f *active, now sim.Tick) {
	s.beginChatter(f, now, f.Device+" babbling", babble)
}

// preambles in front of what a babbling device says: as few as any reply has.
const preambles = 5

// babble is random characters, well sent, behind a preamble.
func babble(f *active) *sim.Burst {
	chars := frame.AppendPreambles(nil, preambles)
	for range f.whole("babble_chars") {
		chars = append(chars, byte(f.chance.Uint32()))
	}
	c := f.member.device.Config()
	return &sim.Burst{Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: chars, PPM: c.ClockPPM, Level: c.Level}
}

func beginNoise(s *Set, f *active, now sim.Tick) { s.beginChatter(f, now, "noise", noise) }

// noise is random bits, so that parities and stop bits are as random as the rest.
func noise(f *active) *sim.Burst {
	b := &sim.Burst{Level: float32(f.values["level_v"])}
	for i := range 1 + f.chance.IntN(f.whole("noise_chars")) {
		value, mark := f.flip(0, 0, 0.5)
		b.Chars = append(b.Chars, value)
		if mark != 0 {
			b.Marks = append(b.Marks, frame.MarkAt{Pos: int64(i), Mark: mark})
		}
	}
	return b
}
