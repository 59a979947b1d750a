package linefile

import "looptone/sim/fault"

// Stops reports whether x lets line time stand still.
func (x *Action) Stops() bool { return x.verb != nil && x.verb.name == "stop" }

// Adds is the fault that x adds to a line; ok is false where it adds none.
func (x *Action) Adds() (f fault.Fault, ok bool) {
	return x.fault, x.verb != nil && x.verb.name == "fault"
}
