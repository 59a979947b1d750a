package fault

import (
	"fmt"
	"slices"
	"strconv"

	"looptone/sim"
	"looptone/sim/setting"
)

// A Set is the faults of a line. It is a [sim.Medium].
type Set struct {
	seed    uint64
	line    *sim.Line
	members []*member                    // in their order along the wires
	behind  func(tag, other string) bool // how they hang on the wires; nil: in a row
	faults  []*active                    // in the order in which they were added

	messages []*active   // of faults, those that strike messages
	tuners   []*active   // that last and change how stations hear
	cuts     []*active   // line cuts that last
	chatters []*sim.Seat // of stations of the set's that send no messages
	idle     bool        // nothing can happen to what is sent
	cells    []cell      // of the message that is struck, for the next one
}

// NewSet is no faults at all, for a line and the devices on it, in their order
// along the wires. It has the line go through it.
func NewSet(seed uint64, line *sim.Line, members []Member) *Set {
	s := &Set{seed: seed, line: line, idle: true}
	for _, m := range members {
		s.members = append(s.members, &member{tag: m.Device.Config().Tag, device: m.Device, seat: m.Seat})
	}
	line.Through(s)
	return s
}

// Add adds a fault, under the name that it has or gets; an error is a
// [*setting.Error].
func (s *Set) Add(now sim.Tick, f Fault) (name string, err error) {
	if err := f.Check(s.tags()); err != nil {
		return "", err
	}
	if err := setting.First(f.checkNow(now), s.checkName(f.Name)); err != nil {
		return "", err
	}
	if f.Name == "" {
		f.Name = FreeName(f.Kind, s.Names())
	}
	a := s.activate(f)
	if a.kind.able != nil {
		if err := a.kind.able(s, a); err != nil {
			return "", err
		}
	}
	s.faults = append(s.faults, a)
	s.enlist(a)
	if a.kind.tune != nil || a.kind.begin != nil {
		s.schedule(now, a)
	}
	return a.Name, nil
}

// activate is f with whom it strikes.
func (s *Set) activate(f Fault) *active {
	a := newActive(f, find(f.Kind), s.seed)
	if f.Talker != "" && f.Device == "" {
		a.member = s.member(f.Talker)
	}
	if f.Device != "" {
		a.member = s.member(f.Device)
	}
	return a
}

// enlist has a asked on its occasions.
func (s *Set) enlist(a *active) {
	if a.kind.message != nil {
		s.messages = append(s.messages, a)
	}
	if a.kind.trouble != nil {
		a.member.troubles = append(a.member.troubles, a)
	}
	s.settleIdle()
}

func (s *Set) settleIdle() { s.idle = len(s.messages) == 0 && len(s.tuners) == 0 }

// schedule has a begin and end when its times come.
func (s *Set) schedule(now sim.Tick, a *active) {
	if a.From > now {
		a.begins = s.at(a.From, func(now sim.Tick) { s.begin(a, now) })
	} else {
		s.begin(a, now)
	}
	if a.Until != 0 {
		a.ends = s.at(a.Until, func(now sim.Tick) { s.end(a, now) })
	}
}

func (s *Set) begin(a *active, now sim.Tick) {
	a.on = true
	if a.kind.tune != nil {
		s.beginTuning(a)
		s.settleIdle()
		return
	}
	a.kind.begin(s, a, now)
}

func (s *Set) end(a *active, now sim.Tick) {
	if !a.on {
		return
	}
	a.on = false
	if a.kind.tune != nil {
		s.endTuning(a)
		s.settleIdle()
		return
	}
	a.kind.end(s, a, now)
}

// Remove takes a fault away, and undoes what it has done to the line and those on
// it; ok is false where there is none of that name.
func (s *Set) Remove(now sim.Tick, name string) (ok bool) {
	i := slices.IndexFunc(s.faults, func(a *active) bool { return a.Name == name })
	if i < 0 {
		return false
	}
	a := s.faults[i]
	same := func(b *active) bool { return b == a }
	s.faults = slices.Delete(s.faults, i, i+1)
	s.messages = slices.DeleteFunc(s.messages, same)
	if a.member != nil {
		a.member.troubles = slices.DeleteFunc(a.member.troubles, same)
	}
	a.begins.cancel()
	a.ends.cancel()
	s.end(a, now)
	a.mends.ring(now)
	s.settleIdle()
	return true
}

// Close ends what the stations that faults have added ask.
func (s *Set) Close() {
	for _, a := range s.faults {
		if a.stops != nil {
			a.stops()
		}
	}
}

// Names are those of the faults, in the order in which they were added; one that
// can strike no more is among them until it is removed.
func (s *Set) Names() []string {
	list := make([]string, len(s.faults))
	for i, a := range s.faults {
		list[i] = a.Name
	}
	return list
}

// Find is the fault with a name, as it was added; ok is false where there is none.
func (s *Set) Find(name string) (f Fault, ok bool) {
	for _, a := range s.faults {
		if a.Name == name {
			return a.Fault, true
		}
	}
	return f, false
}

func (s *Set) checkName(name string) error {
	if name != "" && slices.Contains(s.Names(), name) {
		return setting.Refuse("name", strconv.Quote(name), "another name: there is a fault of this name")
	}
	return nil
}

// FreeName is the name that a fault of a kind gets where some are taken: that of the
// kind, with a number if need be.
func FreeName(kind string, taken []string) string {
	name := kind
	for n := 2; slices.Contains(taken, name); n++ {
		name = fmt.Sprint(kind, " ", n)
	}
	return name
}
