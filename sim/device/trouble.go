package device

import "looptone/sim"

// Trouble is what is wrong with a device when it answers a request. The zero
// Trouble is none.
type Trouble struct {
	Delay     sim.Tick // on top of the latency
	Silent    bool     // it does not reply, though it does what it was asked
	Busy      bool     // it answers that it is busy, and does nothing
	WriteTime sim.Tick // that a write takes, if it is longer than the device's
}

// troubleWith is what is wrong when the device answers a request that ended at the
// moment now.
func (d *Device) troubleWith(now sim.Tick, write bool) Trouble {
	if d.cfg.Trouble == nil {
		return Trouble{}
	}
	return d.cfg.Trouble(now, write)
}

// writeTime is how long a write takes that is asked for now.
func (d *Device) writeTime() sim.Tick { return max(d.cfg.WriteTime, d.trouble.WriteTime) }
