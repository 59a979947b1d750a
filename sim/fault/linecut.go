package fault

import (
	"slices"

	"looptone/sim"
)

// beginCut breaks the wires behind a device.
func beginCut(s *Set, f *active, now sim.Tick) {
	s.cuts = append(s.cuts, f)
	s.settleCuts(now)
}

// endCut mends them.
func endCut(s *Set, f *active, now sim.Tick) {
	s.cuts = slices.DeleteFunc(s.cuts, func(c *active) bool { return c == f })
	s.settleCuts(now)
}

// settleCuts takes from the wires what hangs behind a cut, and puts back the rest.
func (s *Set) settleCuts(now sim.Tick) {
	first := len(s.members)
	for _, f := range s.cuts {
		first = min(first, s.place(f.Other)+1)
	}
	for i, m := range s.members {
		was := m.cut
		m.cut = i >= first
		switch {
		case m.cut && !was:
			m.powerOff()
		case was && !m.cut:
			m.powerOn(now)
		}
	}
}

// Move puts a device behind another one on the wires; after is its tag, empty for
// the first place. A cut moves with the device that it is behind. ok is false where
// there is no such device.
func (s *Set) Move(now sim.Tick, tag, after string) (ok bool) {
	i := s.place(tag)
	if i < 0 || tag == after || after != "" && s.place(after) < 0 {
		return false
	}
	m := s.members[i]
	s.members = slices.Delete(s.members, i, i+1)
	s.members = slices.Insert(s.members, s.place(after)+1, m) // place is -1 for none
	s.settleCuts(now)
	return true
}
