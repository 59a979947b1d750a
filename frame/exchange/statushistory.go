package exchange

import "looptone/frame"

// StatusBit is when a bit of a device's status came and went. A bit that was
// set in the first status heard of the device came with that. Of a bit that the device
// keeps for each master, the one who was told of it more often counts, and it has gone
// when both have been told so.
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
	now    frame.DeviceStatus
	since  int64                 // frames with it that are not in bits yet
	last   When                  // of those
	told   [2]frame.DeviceStatus // of which each master was told last
	stands frame.DeviceStatus    // by what both know
	came   [2][8]int64           // by what each knows
	bits   [8]StatusBit
}

// perMaster are bits that a device keeps for each master.
//
// Source: from memory.
const perMaster = frame.ConfigurationChanged | frame.ColdStart

// add takes over the status of a reply or burst. One that reports communication
// errors carries no status.
func (h *statusHistory) add(m *Message) {
	s := m.Frame.Status
	if _, errs := s.Response.Errors(); errs {
		return
	}
	to := 0
	if !m.Frame.Primary {
		to = 1
	}
	if s.Device != h.now || s.Device != h.told[to] {
		h.change(to, s.Device, whenOf(m))
	}
	if s.Device != 0 {
		h.since++
		h.last = whenOf(m)
	}
}

// change ends one status and begins the next, of which a master is told.
func (h *statusHistory) change(master int, to frame.DeviceStatus, at When) {
	h.settle()
	known := h.stands&^perMaster | h.told[master]&perMaster
	h.now, h.told[master] = to, to
	stands := to&^perMaster | (h.told[0]|h.told[1])&perMaster
	for i := range h.bits {
		b, bit := &h.bits[i], frame.DeviceStatus(1)<<i
		if to&bit != 0 && known&bit == 0 {
			h.came[master][i]++
			h.arrive(i, at)
		}
		if stands&bit == 0 && h.stands&bit != 0 {
			b.Went = at
		}
	}
	h.stands = stands
}

// arrive counts that a bit has come.
func (h *statusHistory) arrive(i int, at When) {
	b := &h.bits[i]
	if b.Came == 0 {
		b.First = at
	}
	b.Came = h.came[0][i] + h.came[1][i]
	if frame.DeviceStatus(1)<<i&perMaster != 0 {
		b.Came = max(h.came[0][i], h.came[1][i])
	}
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
			b.Bit, b.Set = frame.DeviceStatus(1)<<i, done.stands>>i&1 != 0
			bits = append(bits, b)
		}
	}
	return bits
}
