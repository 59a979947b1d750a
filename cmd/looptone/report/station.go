package report

import (
	"looptone/frame"
	"looptone/frame/exchange"
)

// Stations, by number: the masters, then devices in the order in which they were heard,
// and in the end the two for what is left.
const (
	primaryMaster = iota
	secondaryMaster
	otherDevices // beyond the first ones
	unknownTalker
	firstDevice
)

// mostDevices have a lane and curves of their own.
const mostDevices = 40

const nobody = -1

// stations are who is on the line, as far as was heard.
type stations struct {
	devices []*station
	by      map[frame.Address]int // index of a device, by each of its addresses
	others  int64                 // messages of devices that have no lane of their own
	heard   [firstDevice]bool
	lanes   [firstDevice]lane
}

// A station is a device, and what is kept of it.
type station struct {
	lane
	address frame.Address
	device  exchange.Device // that has introduced itself; zero before
	delays  delays
}

// number is that of the device that m is to or from.
func (s *stations) number(m *exchange.Message) int {
	address := m.Frame.Address
	if m.Device != nil {
		address = m.Device.Unique
	}
	if i, ok := s.by[address]; ok {
		return s.learn(i, m)
	}
	if i, ok := s.by[m.Frame.Address]; ok && s.devices[i].device.Revision == 0 {
		s.by[address] = i // it was called by its polling address, and has introduced itself
		return s.learn(i, m)
	}
	if len(s.devices) == mostDevices {
		s.others++
		return otherDevices
	}
	s.by[address] = len(s.devices)
	s.devices = append(s.devices, &station{address: address})
	return s.learn(len(s.devices)-1, m)
}

// learn keeps what is known of a device.
func (s *stations) learn(i int, m *exchange.Message) int {
	if m.Device != nil {
		s.devices[i].address, s.devices[i].device = m.Device.Unique, *m.Device
	}
	return firstDevice + i
}

// lane is that of a station.
func (s *stations) lane(number int) *lane {
	if number < firstDevice {
		s.heard[number] = true
		return &s.lanes[number]
	}
	return &s.devices[number-firstDevice].lane
}

// ends are who says m to whom.
func (s *stations) ends(m *exchange.Message, torn bool) (from, to int) {
	master := secondaryMaster
	if m.Frame.Primary {
		master = primaryMaster
	}
	kind, addressed := readable(m)
	switch {
	case torn || kind == 0 || !addressed: // which master it is stands in the address, too
		return unknownTalker, nobody
	case kind == frame.STX && m.Frame.Address.IsBroadcast():
		return master, nobody
	case m.Unanswered > 0:
		return s.number(m), master
	case kind == frame.STX:
		return master, s.number(m)
	case kind == frame.BACK:
		return s.number(m), nobody
	}
	return s.number(m), master
}

// readable is the kind of a frame, 0 where that could not be read, and whether its
// address could.
func readable(m *exchange.Message) (kind frame.Kind, addressed bool) {
	if m.Unanswered > 0 || m.Outcome == frame.Whole {
		return m.Frame.Kind, true
	}
	fault, ok := m.Err.(*frame.FaultError)
	if !ok || m.Outcome != frame.Damaged || fault.Field <= frame.FieldDelimiter {
		return 0, false
	}
	return m.Frame.Kind, fault.Field > frame.FieldAddress
}
