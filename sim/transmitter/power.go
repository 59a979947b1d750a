package transmitter

import "looptone/sim"

// Power takes the supply from the transmitter at moment now, or gives it back. Without
// it the loop carries no current of it, so that a valve that follows it closes; nothing
// stands behind its stages, and nothing is added up. The process goes on, and so does
// what the stages have in memory: when the supply is back, they are where they would have
// been. Once more what it was changes nothing.
func (t *Transmitter) Power(now sim.Tick, on bool) {
	t.To(now)
	t.dark, t.stages.totaliser.stopped = !on, !on
}

// WantMA is the current that the transmitter draws, or would draw if it had power.
func (t *Transmitter) WantMA() float64 { return t.path[len(t.path)-1].Value }
