package exchange

import "looptone/frame"

// recent is what was found last for some addresses, nil included. It spares a
// map for every frame.
type recent[V any] struct {
	slots [2 * (frame.MaxPolling + 1)]struct {
		known   bool
		address frame.Address
		value   *V
	}
}

func (r *recent[V]) get(a frame.Address) (v *V, ok bool) {
	s := &r.slots[slotOf(a)]
	return s.value, s.known && s.address == a
}

func (r *recent[V]) put(a frame.Address, v *V) {
	s := &r.slots[slotOf(a)]
	s.known, s.address, s.value = true, a, v
}

// slotOf is a place of its own for every polling address, and one for unique
// addresses by the bits in which the devices of a line differ.
func slotOf(a frame.Address) uint32 {
	if n, ok := a.IsPolling(); ok {
		return uint32(n)
	}
	id := a.DeviceID()
	return frame.MaxPolling + 1 + (id^id>>6^uint32(a.DeviceType()))&frame.MaxPolling
}
