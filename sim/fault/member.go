package fault

import (
	"slices"

	"looptone/sim"
	"looptone/sim/device"
)

// A Member is a device and its seat on the line.
type Member struct {
	Device *device.Device
	Seat   *sim.Seat
}

// member is a device that faults can strike.
type member struct {
	tag      string
	device   *device.Device
	seat     *sim.Seat
	off      int  // how many faults keep it off the wires and without power
	cut      bool // one of them is a line cut
	low      bool // it lacks voltage
	dark     bool // for any of these reasons it is off the wires and without power
	troubles []*active
}

// powerOff is one more fault that keeps the device off the wires.
func (m *member) powerOff(now sim.Tick) {
	m.off++
	m.settle(now)
}

// powerOn is one fault less.
func (m *member) powerOn(now sim.Tick) {
	m.off--
	m.settle(now)
}

// settle takes the device off the wires, or puts it back: then it comes up anew.
func (m *member) settle(now sim.Tick) {
	was := m.dark
	m.dark = m.off > 0 || m.low
	switch {
	case m.dark && !was:
		m.seat.Cut(true)
		m.device.PowerOff(now)
	case was && !m.dark:
		m.seat.Cut(false)
		m.device.Restart(now)
	}
}

// Power takes a device off the wires for lack of voltage, or gives it back what it needs;
// it comes up anew when no fault keeps it off either. A tag that no device has changes
// nothing.
func (s *Set) Power(now sim.Tick, tag string, on bool) {
	if m := s.member(tag); m != nil {
		m.low = !on
		m.settle(now)
	}
}

// Off reports whether a fault keeps a device off the wires, so that it draws nothing.
// Lack of voltage is no fault.
func (s *Set) Off(tag string) bool {
	m := s.member(tag)
	return m != nil && m.off > 0
}

func (s *Set) member(tag string) *member {
	if i := s.place(tag); i >= 0 {
		return s.members[i]
	}
	return nil
}

// place is where a device hangs along the wires; -1 for none of that tag.
func (s *Set) place(tag string) int {
	return slices.IndexFunc(s.members, func(m *member) bool { return m.tag == tag })
}

func (s *Set) tags() []string {
	list := make([]string, len(s.members))
	for i, m := range s.members {
		list[i] = m.tag
	}
	return list
}

// Trouble is what is wrong with a device when it answers a request.
func (s *Set) Trouble(tag string) func(now sim.Tick, write bool) device.Trouble {
	m := s.member(tag)
	if m == nil {
		return func(sim.Tick, bool) device.Trouble { return device.Trouble{} }
	}
	return func(now sim.Tick, write bool) device.Trouble {
		if len(m.troubles) == 0 {
			return device.Trouble{}
		}
		return s.trouble(m, now, write)
	}
}

func (s *Set) trouble(m *member, now sim.Tick, write bool) (t device.Trouble) {
	for _, f := range m.troubles {
		if (write || !f.kind.writes) && f.strikes(now) {
			f.kind.trouble(s, f, now, &t)
		}
	}
	return t
}
