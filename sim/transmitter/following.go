package transmitter

import "looptone/sim"

// Follow has the loop current of valve, which may be t itself, open the valve in
// the process of t: closed at 4 mA, open at 20 mA, as the loop carries them. From
// then on the two move together: at each grid point a process sees the current of
// the grid point before. Up to the first of them its valve is open.
func (t *Transmitter) Follow(valve *Transmitter) {
	later := max(t.at, valve.at)
	t.To(later)
	valve.To(later)
	t.valve = valve
	t.others = join(t, valve)
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
	for _, t := range c.members {
		if t.valve != nil {
			t.opening = opening(t.valve.WireCurrentMA())
		}
	}
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
