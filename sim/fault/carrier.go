package fault

import "looptone/sim"

// holdCarrier keeps the carrier on behind the message.
func holdCarrier(f *active, m *message) (struck bool) {
	m.burst.Tail += f.ticks("stuck_s", sim.Second)
	return true
}

// weaken sets the level at the receivers; the line knows which of them hear it.
func weaken(f *active, m *message) (struck bool) {
	m.burst.Level = float32(f.values["level_v"])
	return true
}
