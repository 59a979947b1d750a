package exchange

import "looptone/frame"

// StatusBit is when a bit of a device's status came and went. A bit that was
// set in the first status heard of the device came with that.
type StatusBit struct {
	Bit    frame.DeviceStatus
	Frames int64 // replies and bursts with the bit set
	Came   int64 // how often it was set, and was not before
	First  When  // set for the first time
	Last   When  // heard set for the last time
	Went   When  // heard cleared for the last time, behind which it may have come again; number 0 for never
	Set    bool  // in the last status that was heard
}

// statusHistory follows the status byte of a device. As long as it stays the
// same only its number and the last moment are kept.
type statusHistory struct {
	now   frame.DeviceStatus
	since int64 // frames with it that are not in bits yet
	last  When  // of those
	bits  [8]StatusBit
}

// add takes over the status of a reply or burst. One that reports communication
// errors carries no status.
func (h *statusHistory) add(m *Message) {
	s := m.Frame.Status
	if _, errs := s.Response.Errors(); errs {
		return
	}
	if s.Device != h.now {
		h.change(s.Device, whenOf(m))
	}
	if s.Device != 0 {
		h.since++
		h.last = whenOf(m)
	}
}

// change ends one status and begins the next.
func (h *statusHistory) change(to frame.DeviceStatus, at When) {
	h.settle()
	for i := range h.bits {
		b, bit := &h.bits[i], frame.DeviceStatus(1)<<i
		switch {
		case to&bit != 0 && h.now&bit == 0:
			if b.Came++; b.Came == 1 {
				b.First = at
			}
		case to&bit == 0 && h.now&bit != 0:
			b.Went = at
		}
	}
	h.now = to
}

// settle writes what stayed the same into the bits.
func (h *statusHistory) settle() {
	for i := range h.bits {
		if h.now>>i&1 != 0 && h.since > 0 {
			h.bits[i].Frames += h.since
			h.bits[i].Last = h.last
		}
	}
	h.since = 0
}

func (h *statusHistory) tell() (bits []StatusBit) {
	done := *h
	done.settle()
	for i := 7; i >= 0; i-- {
		if b := done.bits[i]; b.Came > 0 {
			b.Bit, b.Set = frame.DeviceStatus(1)<<i, done.now>>i&1 != 0
			bits = append(bits, b)
		}
	}
	return bits
}
