package exchange

import (
	"slices"

	"looptone/frame"
)

// DeviceTally is what was counted of a device, or of an address of which no
// device has introduced itself.
type DeviceTally struct {
	Counts
	Address      frame.Address // unique where the device has introduced itself
	Polling      int           // −1 where it is not known
	Revision     uint8         // 0 where it is not known
	Tag, LongTag string

	// What was heard damaged and was to be a request to the device, or came
	// from it.
	DamagedRequests, DamagedReplies int64

	Responses Quantiles
	Status    []StatusBit // the device status bits that were set, top bit first
}

// tally counts for one device.
type tally struct {
	address   frame.Address
	device    *Device
	counts    Counts
	requests  int64 // damaged
	replies   int64
	responses ResponseTimes
	status    statusHistory
}

// tallies are those of all devices, in the order in which they were heard first.
type tallies struct {
	byAddress map[frame.Address]*tally
	recent    recent[tally]
	last      *tally // that was found last
	order     []*tally
	others    tally // of what is beyond maxDevices
}

// of is the tally of the device of a frame.
func (ts *tallies) of(m *Message) *tally {
	if m.Device != nil && ts.last != nil && ts.last.device == m.Device && m.Frame.Command != 0 {
		return ts.last // as a reply behind its request
	}
	ts.last = ts.seek(m)
	return ts.last
}

// seek finds or begins the tally of the device of a frame.
func (ts *tallies) seek(m *Message) *tally {
	f := &m.Frame
	if m.Device == nil {
		if t := ts.find(f.Address); t != nil {
			return t
		}
		return ts.add(f.Address)
	}
	t := ts.find(m.Device.Unique)
	if f.Command == 0 && f.Kind == frame.ACK {
		t = ts.introduce(t, m)
	}
	if t == nil {
		t = ts.add(m.Device.Unique)
	}
	if t != &ts.others {
		t.device = m.Device
	}
	return t
}

func (ts *tallies) find(a frame.Address) *tally {
	t, ok := ts.recent.get(a)
	if !ok {
		if t = ts.byAddress[a]; t != nil {
			ts.recent.put(a, t)
		}
	}
	return t
}

// add begins a tally, if there is room for one more.
func (ts *tallies) add(a frame.Address) *tally {
	if len(ts.order) >= maxDevices {
		return &ts.others
	}
	if ts.byAddress == nil {
		ts.byAddress = map[frame.Address]*tally{}
	}
	t := &tally{address: a}
	ts.byAddress[a] = t
	ts.order = append(ts.order, t)
	ts.recent.put(a, t)
	return t
}

// introduce gives the tally of a device that introduces itself; t is the one by
// its unique address, if there is one. What was counted by the polling address
// before becomes its own; beside t only if nothing was heard from there.
func (ts *tallies) introduce(t *tally, m *Message) *tally {
	u := ts.find(m.Frame.Address)
	if u == nil || u == t {
		return t
	}
	switch {
	case t == nil:
		delete(ts.byAddress, u.address)
		u.address = m.Device.Unique
		ts.byAddress[u.address] = u
		t = u
	case u.counts.Replies+u.counts.Bursts == 0:
		delete(ts.byAddress, u.address)
		ts.order = slices.DeleteFunc(ts.order, func(o *tally) bool { return o == u })
		t.counts.plus(&u.counts)
		t.requests += u.requests
		t.replies += u.replies
	}
	ts.recent = recent[tally]{}
	return t
}

// own makes a request to all devices that of t, which has answered it.
func (ts *tallies) own(t *tally) {
	if all := ts.find(frame.Broadcast); all != nil && all != t {
		all.counts.Requests--
		t.counts.Requests++
	}
}

// addDamage counts damage for the device that it was to or from, if that is known.
func (ts *tallies) addDamage(m *Message) {
	var t *tally
	switch {
	case m.Device != nil:
		t = ts.find(m.Device.Unique)
	case fieldOf(m.Event) > frame.FieldAddress:
		t = ts.find(m.Frame.Address)
	}
	switch {
	case t == nil:
	case kindOf(m.Event) == frame.STX:
		t.requests++
	default:
		t.replies++
	}
}

func (ts *tallies) list() []DeviceTally {
	all := make([]DeviceTally, 0, len(ts.order))
	for _, t := range ts.order {
		if t.counts == (Counts{}) && t.requests+t.replies == 0 {
			continue // somebody has answered all of them
		}
		all = append(all, t.tell())
	}
	return all
}

// tell is the tally as plain values.
func (t *tally) tell() DeviceTally {
	d := DeviceTally{
		Counts: t.counts, Address: t.address, Polling: -1,
		DamagedRequests: t.requests, DamagedReplies: t.replies,
		Responses: t.responses.Quantiles(), Status: t.status.tell(),
	}
	if n, ok := t.address.IsPolling(); ok {
		d.Polling = int(n)
	}
	if t.device != nil {
		d.Polling, d.Revision, d.Tag, d.LongTag = t.device.Polling, t.device.Revision, t.device.Tag, t.device.LongTag
	}
	return d
}
