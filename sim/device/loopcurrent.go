package device

import (
	"looptone/frame"
	"looptone/sim/transmitter"
)

// Parked reports whether the loop current is parked, which no process moves.
func (d *Device) Parked() bool { return d.isParked(&d.memory) }

// isParked reports whether the loop current is parked: at this polling address, or
// by the loop current mode.
//
// Source: Siemens Pointek CLS500 7ML19985GG03 p.30 (multidrop devices are parked
// at 4 mA); from memory that the loop current mode alone decides from revision 6
// on; common practice (a controller that is on drives the current all the same).
func (d *Device) isParked(m *Memory) bool {
	if d.cfg.Revision > 5 {
		return !written(m.LoopCurrent, d.cfg.LoopCurrent)
	}
	controller := d.cfg.Transmitter.Controller
	drives := d.cfg.MultidropCurrent && controller != nil && controller.Mode != transmitter.Off
	return d.pollingIn(m) != 0 && !drives
}

// setMode parks the current, holds it for a test, or lets it follow.
func (d *Device) setMode(c *transmitter.Current, m *Memory) {
	switch {
	case d.isParked(m):
		c.Mode, c.HeldMA = transmitter.Fixed, transmitter.ZeroMA
	case d.heldMA > 0:
		c.Mode, c.HeldMA = transmitter.Fixed, d.heldMA
	default:
		c.Mode = transmitter.Modulated
	}
}

// writePolling moves the device to another polling address, and with it or by
// itself the loop current mode. From revision 6 on a request without a mode is
// taken as revision 5 has it; from memory.
func (d *Device) writePolling(r *request, m *Memory) (code uint8) {
	polling, mode := r.data[0], r.data[0] == 0
	if d.cfg.Revision == 5 && polling > frame.MaxPolling5 || polling > frame.MaxPolling {
		return invalidSelection
	}
	if d.cfg.Revision > 5 && len(r.data) > 1 {
		if r.data[1] > 1 {
			return invalidMode
		}
		mode = r.data[1] == 1
	}
	m.Polling, m.Borrowed, m.LoopCurrent = &polling, nil, &mode
	return success
}

// fixCurrent holds the current for a test, or with 0 mA lets it follow again. It
// can be held where a current can mean something.
func (d *Device) fixCurrent(r *request, m *Memory) (code uint8) {
	ma, ok := r.number("fixed loop current")
	if d.isParked(m) {
		return inMultidropMode
	}
	if ok && ma == 0 {
		d.heldMA = 0
		return success
	}
	c := d.transmitter.Config().Current
	code = within(ma, ok, min(c.LowerMA, c.FailureMA), max(c.UpperMA, c.FailureMA))
	if code == success {
		d.heldMA = ma
	}
	return code
}

// within is the response code for a number that is to be from least to most.
func within(x float64, ok bool, least, most float64) (code uint8) {
	switch {
	case !ok:
		return invalidSelection
	case x > most:
		return tooLarge
	case x < least:
		return tooSmall
	}
	return success
}
