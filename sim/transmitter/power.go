package transmitter

import "looptone/sim"

// Power takes the supply from the transmitter at moment now, or gives it back. Without
// it the loop carries no current of it, and nothing stands behind its stages; the process
// goes on.
func (t *Transmitter) Power(now sim.Tick, on bool) { panic("not written yet") }

// WantMA is the current that the transmitter draws, or would draw if it had power.
func (t *Transmitter) WantMA() float64 { panic("not written yet") }
