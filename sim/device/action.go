package device

import (
	"looptone/frame"
	"looptone/sim"
	"looptone/sim/transmitter"
)

// How long a self test goes on, and how long a device says nothing when it was
// switched on.
//
// Source: common practice.
const (
	selfTestTime = 2 * sim.Second
	startTime    = sim.Second
)

// selfTest has the device test itself. Meanwhile nothing can be written.
func (d *Device) selfTest(*request, *Memory) (code uint8) {
	d.afterReply = func(reply *sim.Burst) {
		d.coldStart = [2]bool{true, true}
		d.testing = reply.Off() + selfTestTime
	}
	return success
}

// reset has the device start anew when it has replied.
func (d *Device) reset(r *request, _ *Memory) (code uint8) {
	d.afterReply = func(reply *sim.Burst) {
		d.start(r.now)
		d.sending = reply.Off() + startTime
	}
	return success
}

// start makes the device one that was just switched on: what it holds for a test
// or simulates is gone, and in burst mode it has to get to know the line.
func (d *Device) start(now sim.Tick) {
	d.heldMA, d.simulated, d.testing, d.delayed = describedMA(&d.cfg.Transmitter.Current), nil, 0, delayed{}
	d.coldStart = [2]bool{true, true}
	d.publishing.begin()
	m := d.memory
	_ = d.adopt(now, &m) // which was adopted before
	if d.isParked(&m) {
		d.heldMA = 0
	}
}

// PowerOff takes the power from the device, and from its transmitter, until it
// restarts. Meanwhile it hears nothing, says nothing and keeps nothing. All that is kept
// in no memory is gone: a reply that waits, a current that is held for a test, what was
// added up since the totals were kept last. What the store was given before goes on.
func (d *Device) PowerOff(now sim.Tick) {
	d.off = true
	d.unsaved.reply, d.afterReply = nil, nil
	d.transmitter.Power(now, false)
	d.start(now)
	if d.kept != nil && d.cfg.Store != nil && d.cfg.SaveEvery > 0 {
		d.transmitter.SetTotals(now, *d.kept)
	}
}

// Restart gives the power back; a device that had it has lost it just before. Whoever
// calls it wakes the device's seat.
func (d *Device) Restart(now sim.Tick) {
	d.PowerOff(now)
	d.off = false
	d.transmitter.Power(now, true)
	d.chars = nil // the line may still have them
	d.counts.requests, d.counts.replies, d.counts.bursts = 0, 0, 0
	d.forgetful, d.more = false, [2]bool{}
	d.noticed = health{protected: d.cfg.WriteProtect}
	d.sending = now + startTime
}

// describedMA is the current that a description holds for a test; 0 for none.
func describedMA(c *transmitter.Current) float64 {
	if c.Mode == transmitter.Fixed {
		return c.HeldMA
	}
	return 0
}

// controlEEPROM has nothing to do: what is written is kept at once, and what
// counts is what is kept.
//
// Source: Allen-Bradley 1794-UM063A appendix C note 1 (0 and 1).
func (d *Device) controlEEPROM(r *request, _ *Memory) (code uint8) {
	if r.data[0] > 1 {
		return invalidSelection
	}
	return success
}

// resetChanged takes the flag back; from revision 7 on only for a master that
// knows of the last change.
func (d *Device) resetChanged(r *request, m *Memory) (code uint8) {
	if d.cfg.Revision >= 7 && r.whole("configuration change counter") != uint32(m.Changes) {
		return counterMismatch
	}
	if r.primary {
		m.ChangedPrimary = false
	} else {
		m.ChangedSecondary = false
	}
	return success
}

// flags are what a device tells each master until that one has been told.
func (d *Device) flags(primary bool) (s frame.DeviceStatus) {
	changed := d.memory.ChangedSecondary
	if primary {
		changed = d.memory.ChangedPrimary
	}
	if changed {
		s |= frame.ConfigurationChanged
	}
	if d.coldStart[seat(primary)] {
		s |= frame.ColdStart
	}
	if d.more[seat(primary)] {
		s |= frame.MoreStatusAvailable
	}
	return s
}

// seat is where what belongs to a master is kept.
func seat(primary bool) int {
	if primary {
		return 1
	}
	return 0
}
