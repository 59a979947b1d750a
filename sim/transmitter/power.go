package transmitter

import "looptone/sim"

// Power takes the supply from the transmitter at moment now, or gives it back. Without
// it the loop carries no current of it, so that a valve that follows it closes; nothing
// stands behind its stages, and nothing is added up. The process goes on. When the supply
// is back, damping settles on what it is given, and a controller goes on from where it was
// when the supply went. Once more what it was changes nothing.
func (t *Transmitter) Power(now sim.Tick, on bool) {
	t.To(now)
	if t.dark != on {
		return
	}
	t.dark = !on
	t.stages.losePower()
	t.settle()
}

// losePower has damping settle anew, and the controller go on from its last output. It
// happens at every grid point without power, so that what would be drawn is known.
func (s *stages) losePower() {
	s.damping.begin()
	s.controller.lose()
}

// WantMA is the current that the transmitter draws, or would draw if it had power.
func (t *Transmitter) WantMA() float64 { return t.path[len(t.path)-1].Value }
