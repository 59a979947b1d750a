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

// Wire has line cuts go by how the devices hang on the wires: behind reports whether one
// hangs behind another one, seen from the supply. It is asked anew whenever a cut or a
// move changes something. Without it the devices hang in a row.
func (s *Set) Wire(now sim.Tick, behind func(tag, other string) bool) {
	s.behind = behind
	s.settleCuts(now)
}

// settleCuts takes from the wires what hangs behind a cut, and puts back the rest.
func (s *Set) settleCuts(now sim.Tick) {
	for i, m := range s.members {
		was := m.cut
		m.cut = slices.ContainsFunc(s.cuts, func(f *active) bool { return s.isBehind(i, f.Other) })
		switch {
		case m.cut && !was:
			m.powerOff(now)
		case was && !m.cut:
			m.powerOn(now)
		}
	}
}

// isBehind reports whether member i hangs behind another one, whose tag is empty for
// the place in front of all.
func (s *Set) isBehind(i int, other string) bool {
	tag := s.members[i].tag
	switch {
	case other == "":
		return true
	case s.behind == nil:
		return i > s.place(other)
	}
	return tag != other && s.behind(tag, other)
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
