package device

import "looptone/sim"

// Borrow has the device answer at another polling address, by mistake: its masters are
// told of no change, and it is not kept. That ends with [Device.Return], or when
// somebody gives the device an address. An error is a [*setting.Error], and nothing has
// changed.
func (d *Device) Borrow(now sim.Tick, polling uint8) error {
	if err := checkPolling(polling, d.cfg.Revision); err != nil {
		return err
	}
	return d.alter(now, func(m *Memory) { m.Borrowed = &polling }, nil)
}

// Return gives the device its own polling address back, if it answers at a borrowed one.
func (d *Device) Return(now sim.Tick) {
	if d.memory.Borrowed != nil {
		_ = d.alter(now, func(m *Memory) { m.Borrowed = nil }, nil) // as it was before
	}
}
