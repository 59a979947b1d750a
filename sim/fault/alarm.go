package fault

import "looptone/sim"

// An alarm does something at a moment. It is a station that neither talks nor
// hears.
type alarm struct {
	line *sim.Line
	seat *sim.Seat
	at   sim.Tick
	do   func(now sim.Tick)
	over bool
}

// at has do done at a moment to come, in a step of the line.
func (s *Set) at(at sim.Tick, do func(now sim.Tick)) *alarm {
	a := &alarm{line: s.line, at: at, do: do}
	a.seat = s.line.Join(a)
	a.seat.Cut(true)
	return a
}

// Step waits for the moment.
func (a *alarm) Step(now sim.Tick, _ []sim.Heard) (*sim.Burst, sim.Tick) {
	if a.over || now < a.at {
		return nil, a.at
	}
	a.ring(now)
	return nil, sim.Never
}

// ring does at once what is to be done. A nil alarm, and one that has rung, do
// nothing.
func (a *alarm) ring(now sim.Tick) {
	if a != nil && !a.over {
		a.cancel()
		a.do(now)
	}
}

// cancel has it never done.
func (a *alarm) cancel() {
	if a != nil && !a.over {
		a.over = true
		a.line.Leave(a.seat)
	}
}
