package fault

import "looptone/sim"

// A Fault is one thing that is wrong.
type Fault struct {
	Name        string   // by which it is removed; a set gives one to a fault that has none
	Kind        string   // name of one of [Kinds]
	Device      string   // tag of the device that it strikes
	Talker      string   // [Host], name of a master's seat, or tag of a device; Device and Talker empty: whoever talks
	Probability float64  // that it strikes where it can; 1 for a kind that lasts
	Count       int      // how often it strikes at the most; 0 for no limit, and for a kind that lasts
	From, Until sim.Tick // in between it can strike, or lasts; Until 0 for no end
	Settings    map[string]float64
	Other       string // tag of another device that has part in it
}

// Host is the talker that stands for everybody outside: behind a pty, a port, a
// client of TCP.
const Host = "host"

// Talkers are the names that [Fault.Talker] may have beside the tags of devices.
func Talkers() []string { return []string{"primary master", "secondary master", Host} }

// setting is a setting of f, or what is usual.
func (f *Fault) setting(s *Setting) float64 {
	if v, ok := f.Settings[s.Name]; ok {
		return v
	}
	return s.Usual
}
