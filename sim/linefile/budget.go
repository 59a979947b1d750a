package linefile

import "looptone/sim/loop"

// Loop is the electricity of the line, as it is described; its devices are in the order
// of the description.
func (d *Description) Loop() *loop.Loop { panic("not written yet") }

// Budget reckons the loop with the currents that the devices draw at line time 0, and
// with the highest that each may come to: what it is parked or held at, else the higher
// one of its upper saturation limit and its failure current. An error is that of
// [Description.Assemble].
func (d *Description) Budget(seed *uint64) (*loop.Budget, error) { panic("not written yet") }
