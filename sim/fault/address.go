package fault

import (
	"strconv"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/setting"
)

// canBorrow refuses a polling address that the device cannot have.
func canBorrow(s *Set, f *active) error {
	polling := s.member(f.Other).device.Polling()
	if f.member.device.Config().Revision == 5 && polling > frame.MaxPolling5 {
		return setting.Refuse(f.kind.OtherKey, strconv.Quote(f.Other), "a device at a polling address from 0 to %d, "+
			"which %s of revision 5 can have: it is at %d", frame.MaxPolling5, f.Device, polling)
	}
	return nil
}

// borrowAddress gives the device the polling address of another one.
func borrowAddress(s *Set, f *active, now sim.Tick) {
	d := f.member.device
	f.gave = s.member(f.Other).device.Polling()
	_ = d.Borrow(now, f.gave) // not, if the other one has moved beyond 15 since
}

// returnAddress gives the device its own back, unless another fault or somebody else
// has given it one meanwhile.
func returnAddress(_ *Set, f *active, now sim.Tick) {
	if d := f.member.device; d.Polling() == f.gave {
		d.Return(now)
	}
}
