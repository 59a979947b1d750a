package linefile

import (
	"fmt"
	"math/rand/v2"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/fault"
	"looptone/sim/master"
	"looptone/sim/transmitter"
)

// An Assembly is a line with its devices on it, at line time 0.
type Assembly struct {
	Name    string
	Line    *sim.Line
	Devices []*device.Device // in the order of the description
	Seats   []*sim.Seat      // theirs
	Masters []Host           // that are simulated
	Faults  *fault.Set

	// Clock is what stop and go on act on; nil where line time cannot stop.
	Clock Clock
	// Report is told of every timed action when it was done, or why not; may be nil.
	Report func(at sim.Tick, did string, err error)
	// News is told what the electricity does: who goes dark, who hears nobody; may be nil.
	News func(at sim.Tick, news string)

	plan        *plan // as it was described, and as it was set since
	later       *timetable
	electricity *electricity // nil where nothing is said of it
}

// A Host is a simulated master and what it asks.
type Host struct {
	Master *master.Master
	Seat   *sim.Seat
	Poll   *master.Poll
}

// A State is what devices remember from before, and where they keep what they
// must remember from now on.
type State struct {
	// Load gives what a device remembers; found is false where nothing was kept.
	Load  func(unique frame.Address) (m device.Memory, found bool, err error)
	Store device.Store
}

// Assemble puts the devices on a line, their processes running, then the simulated
// masters, the faults, and what is to be done at its time. A seed that is given
// takes the place of the description's. What a device remembers, if there is a
// state, takes the place of what the description says of it.
//
// What was parsed is refused only for what a device remembers: the description
// may have changed since.
func (d *Description) Assemble(seed *uint64, state *State) (*Assembly, error) {
	s := d.Seed
	if seed != nil {
		s = *seed
	}
	a := d.bare(s)
	if err := d.joinDevices(a, s, state); err != nil {
		return nil, err
	}
	d.openValves(a)
	a.rewire(0)
	for i := range d.Masters {
		a.Masters = append(a.Masters, d.Masters[i].join(a))
	}
	for _, f := range d.Faults {
		if _, err := a.Faults.Add(0, f); err != nil {
			return nil, fmt.Errorf("fault %q: %w", f.Name, err)
		}
	}
	for _, x := range d.Actions {
		a.later.add(x.clone())
	}
	return a, nil
}

// bare is the line without anything on it.
func (d *Description) bare(seed uint64) *Assembly {
	a := &Assembly{Name: d.Name, Line: sim.NewLine(seed), plan: d.plan.clone()}
	a.later = &timetable{assembly: a}
	return a
}

// joinDevices puts the devices on the line, and through their faults.
func (d *Description) joinDevices(a *Assembly, seed uint64, state *State) error {
	troubles := make([]func(sim.Tick, bool) device.Trouble, len(d.Devices))
	var members []fault.Member
	for i, c := range d.Devices {
		chance := chanceOf(seed, c.Unique())
		_, c.Transmitter.Process.Seed = chance.Uint64(), chance.Uint64() // the second, so that a seed makes the noise it always made
		c.Trouble = func(now sim.Tick, write bool) device.Trouble { return troubles[i](now, write) }
		dev, err := state.wake(c)
		if err != nil {
			return err
		}
		seat := a.Line.Join(dev)
		seat.Name = c.Tag
		a.Devices, a.Seats = append(a.Devices, dev), append(a.Seats, seat)
		members = append(members, fault.Member{Device: dev, Seat: seat})
	}
	a.Faults = fault.NewSet(seed, a.Line, members)
	for i := range d.Devices {
		troubles[i] = a.Faults.Trouble(d.Devices[i].Tag)
	}
	return nil
}

// place is the index of the device with a tag that is on the line.
func (a *Assembly) place(tag string) int { return a.plan.place(tag) }

// Close ends what the simulated masters ask, and a master that a fault has added.
func (a *Assembly) Close() {
	a.Faults.Close()
	for _, h := range a.Masters {
		h.Master.Close()
	}
}

// wake makes a device that remembers.
func (s *State) wake(c device.Config) (*device.Device, error) {
	if s == nil {
		return device.New(c)
	}
	m, found, err := s.Load(c.Unique())
	if err != nil {
		return nil, err
	}
	c.Store = s.Store
	if found {
		c.Memory = m
	}
	dev, err := device.New(c)
	if err != nil {
		return nil, fmt.Errorf("%s, unique address %v: %w", c.Tag, c.Unique(), err)
	}
	return dev, nil
}

// openValves lets the current of each device that is named as a valve act on the
// process that names it.
func (d *Description) openValves(a *Assembly) {
	byTag := map[string]*transmitter.Transmitter{}
	for i := range d.Devices {
		byTag[d.Devices[i].Tag] = a.Devices[i].Transmitter()
	}
	for i := range d.Devices {
		if valve := byTag[d.Valves[d.Devices[i].Tag]]; valve != nil {
			a.Devices[i].Transmitter().Follow(valve)
		}
	}
}

// chanceOf draws the seeds of a device. They follow from its unique address, so
// that they stay what they are when other devices come and go.
func chanceOf(seed uint64, a frame.Address) *rand.Rand {
	return rand.New(rand.NewPCG(seed, uint64(a.DeviceType())<<24|uint64(a.DeviceID())))
}
