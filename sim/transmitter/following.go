package transmitter

import "looptone/sim"

// Follow has the loop current of valve, which may be t itself, open the valve in
// the process of t: closed at 4 mA, open at 20 mA, as the loop carries them. From
// then on the two move together: at each grid point a process sees the current of
// the grid point before.
//
// As long as none of them has moved from line time 0 they settle anew, as they
// are set by then, each on its process with its valve where the current holds it.
// Later, what there is goes on from where it is.
//
// Where valves hang in a ring, their currents may have nowhere to settle. They
// begin then where as many rounds as there are transmitters, from open valves on,
// have brought them.
func (t *Transmitter) Follow(valve *Transmitter) {
	later := max(t.at, valve.at)
	t.To(later)
	valve.To(later)
	t.valve = valve
	t.others = join(t, valve)
	t.others.begin()
}

// A convoy is transmitters that move together, because the current of one acts
// upon the process of another.
type convoy struct{ members []*Transmitter }

// join makes one convoy of two transmitters and of those that they move with.
func join(t, valve *Transmitter) *convoy {
	joint := t.others
	if joint == nil {
		joint = &convoy{[]*Transmitter{t}}
	}
	if valve == t || valve.others == joint {
		return joint
	}
	joining := []*Transmitter{valve}
	if valve.others != nil {
		joining = valve.others.members
	}
	for _, m := range joining {
		m.others = joint
	}
	joint.members = append(joint.members, joining...)
	return joint
}

// begin settles the members, if all are still at line time 0. In each round every
// valve is read before any current moves, so that neither the order of the members
// nor that in which they joined matters; a chain of valves has settled after as
// many rounds as it has members.
func (c *convoy) begin() {
	for _, t := range c.members {
		if t.at > 0 {
			return
		}
	}
	for _, t := range c.members {
		t.opening = 1
		t.begin()
	}
	for range c.members {
		if !c.readValves() {
			return
		}
		for _, t := range c.members {
			t.begin()
		}
	}
}

// readValves has every process see the current that its valve carries now; moved
// is true where one is not where it was.
func (c *convoy) readValves() (moved bool) {
	for _, t := range c.members {
		if t.valve == nil {
			continue
		}
		before := t.opening
		t.opening = opening(t.valve.WireCurrentMA())
		moved = moved || t.opening != before
	}
	return moved
}

// to moves the members from grid point to grid point, each on its own grid.
func (c *convoy) to(now sim.Tick) {
	for {
		next := sim.Never
		for _, t := range c.members {
			next = min(next, t.at+t.grid)
		}
		if next > now {
			return
		}
		c.step(next)
	}
}

// step moves those whose turn it is. All valves are read before the first
// current moves, so that the order of the members does not matter.
func (c *convoy) step(next sim.Tick) {
	c.readValves()
	for _, t := range c.members {
		if t.at+t.grid == next {
			t.at = next
			t.step(t.dt)
		}
	}
}

// opening is the share by which a current opens a valve. What is no number leaves
// it closed.
func opening(ma float64) float64 {
	share := (ma - ZeroMA) / (FullMA - ZeroMA)
	switch {
	case share >= 1:
		return 1
	case share > 0:
		return share
	}
	return 0
}
