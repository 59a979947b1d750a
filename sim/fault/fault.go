// Package fault is what can be wrong on a line: with a device, with what a
// station sends, with the wires. Each fault strikes by chance, so many times, or
// for a time, and all by the line's seed.
package fault

import (
	"looptone/sim"
	"looptone/sim/device"
)

// A Fault is one thing that is wrong.
type Fault struct {
	Name        string   // by which it is removed; a set gives one to a fault that has none
	Kind        string   // name of one of [Kinds]
	Device      string   // tag of the device that it strikes
	Talker      string   // name of a seat, or "host" for everybody outside; Device and Talker empty: whoever talks
	Probability float64  // that it strikes where it can
	Count       int      // how often it strikes at the most; 0 for no limit
	From, Until sim.Tick // in between it can strike; Until 0 for no end
	Settings    map[string]float64
	Other       string // tag of another device that has part in it
}

// A Kind is a sort of fault.
type Kind struct {
	Name     string // for instance "late reply"
	What     string // one sentence that can be read out to a class
	Strikes  string // what it can be given: "device", "talker", "line"
	Settings []Setting
	Other    string // what Fault.Other is for it, in words; empty where it has none
	Crosses  string // what of it a host behind a pty or TCP can see, and what not
}

// A Setting is a number of a kind of fault.
type Setting struct {
	Name          string // with its unit, for instance delay_chars
	What          string
	Least, Most   float64
	Usual         float64 // where none is given
	Needed, Whole bool
}

// Kinds are all sorts of faults there are.
func Kinds() []Kind { return nil }

// A Member is a device and its seat on the line.
type Member struct {
	Device *device.Device
	Seat   *sim.Seat
}

// A Set is the faults of a line. It is a [sim.Medium].
type Set struct{}

// NewSet is no faults at all, for a line and the devices on it, in their order
// along the wires. It has the line go through it.
func NewSet(seed uint64, line *sim.Line, members []Member) *Set { return &Set{} }

// Add adds a fault; an error is a [*setting.Error].
func (s *Set) Add(now sim.Tick, f Fault) (name string, err error) { return "", nil }

// Remove takes a fault away; ok is false where there is none of that name.
func (s *Set) Remove(now sim.Tick, name string) (ok bool) { return false }

// Move puts a device behind another one on the wires; after is its tag, empty for
// the first place.
func (s *Set) Move(now sim.Tick, tag, after string) (ok bool) { return false }

// Trouble is what is wrong with a device when it answers a request.
func (s *Set) Trouble(tag string) func(now sim.Tick, write bool) device.Trouble {
	return func(sim.Tick, bool) device.Trouble { return device.Trouble{} }
}
