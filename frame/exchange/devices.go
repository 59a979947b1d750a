package exchange

import (
	"looptone/frame"
	"looptone/frame/payload"
)

// maxDevices is how many devices are kept apart, each with two addresses at
// most; a line has 64 polling addresses.
const maxDevices = 1024

// devices are those that introduced themselves, by their addresses.
type devices struct {
	byAddress map[frame.Address]*Device
	recent    recent[Device]
	disputed  uint64 // polling addresses of which two devices were told
	values    []payload.Value
}

// find is the device with that address; nil where it has not introduced itself.
func (ds *devices) find(a frame.Address) *Device {
	d, ok := ds.recent.get(a)
	if !ok {
		d = ds.byAddress[a]
		ds.recent.put(a, d)
	}
	return d
}

// set lets a stand for d, or for nobody.
func (ds *devices) set(a frame.Address, d *Device) {
	if d == nil {
		delete(ds.byAddress, a)
	} else {
		ds.byAddress[a] = d
	}
	ds.recent.put(a, d)
}

// tellsOfDevice reports whether the reply to a command tells who or where a
// device is, or what it is called.
func tellsOfDevice(command uint16) bool {
	switch command {
	case 0, 6, 7, 11, 13, 18, 20, 21, 22:
		return true
	}
	return false
}

// learn takes over what a reply, or a burst, tells of the device that sent it;
// asked is the request that it answers, nil where that is not known.
func (ds *devices) learn(m *Message, asked *request) {
	d, data := m.Device, m.Frame.Payload()
	switch number := m.Frame.Number(); {
	case number == 0, number == 11, number == 21:
		ds.introduce(m, asked)
	case d == nil || len(data) == 0:
	case number == 6, number == 7:
		if data[0] <= frame.MaxPolling {
			m.Rival = ds.listens(d, data[0])
		}
	case number == 13, number == 18:
		d.learnTag(data)
	case number == 20, number == 22:
		d.learnLongTag(data)
	}
}

// introduce takes over the reply to command 0, or to 11 and 21, which have its
// data and are sent by the device with the tag that was asked for.
func (ds *devices) introduce(m *Message, asked *request) {
	f := &m.Frame
	said, ok := ds.identity(f.Payload())
	if !ok {
		return
	}
	d := ds.find(said.Unique)
	if d == nil {
		d = ds.add(said.Unique)
	}
	d.Revision, d.Manufacturer, d.DeviceType, d.DeviceRevision =
		said.Revision, said.Manufacturer, said.DeviceType, said.DeviceRevision
	if n, ok := f.Address.IsPolling(); ok {
		m.Rival = ds.listens(d, n)
	}
	switch {
	case asked == nil || !asked.whole:
	case f.Number() == 11:
		d.learnTag(asked.data[:asked.size])
	case f.Number() == 21:
		d.learnLongTag(asked.data[:asked.size])
	}
}

func (ds *devices) add(unique frame.Address) *Device {
	if len(ds.byAddress) >= 2*maxDevices {
		clear(ds.byAddress) // so many are no line: what comes now counts, not what came first
		ds.recent = recent[Device]{}
	}
	if ds.byAddress == nil {
		ds.byAddress = map[frame.Address]*Device{}
	}
	d := &Device{Unique: unique, Polling: -1}
	ds.set(unique, d)
	return d
}

// listens notes that d has polling address n, and no longer the one before. It
// gives the device that has n already, the first time that two have it.
func (ds *devices) listens(d *Device, n uint8) (rival *Device) {
	if before := d.Polling; before >= 0 && before != int(n) {
		if ds.find(frame.Polling(uint8(before))) == d {
			ds.set(frame.Polling(uint8(before)), nil)
		}
		ds.disputed &^= 1 << before
	}
	d.Polling = int(n)
	holder := ds.find(frame.Polling(n))
	if holder == d {
		return nil
	}
	ds.set(frame.Polling(n), d)
	if holder != nil && ds.disputed>>n&1 == 0 {
		ds.disputed |= 1 << n
		return holder
	}
	return nil
}

// identity reads the data of a reply to command 0; ok is false where they do not
// say who the device is.
func (ds *devices) identity(data []byte) (said Device, ok bool) {
	definition, _ := payload.Lookup(0)
	r := definition.Decode(ds.values[:0], frame.ACK, data, 0)
	ds.values = r.Values
	maker, _ := whole(&r, "manufacturer") // the expanded type stands for it too
	deviceType, expanded := whole(&r, "expanded device type")
	if !expanded {
		deviceType, _ = whole(&r, "device type")
	}
	id, ok := whole(&r, "device id") // which stands behind the others
	deviceRevision, _ := whole(&r, "device revision")
	said = Device{Revision: r.Revision, Manufacturer: uint16(maker), DeviceType: uint16(deviceType), DeviceRevision: uint8(deviceRevision)}
	said.Unique = frame.UniqueOf(r.Revision, said.Manufacturer, said.DeviceType, id)
	return said, ok
}

func whole(r *payload.Reading, name string) (uint32, bool) {
	for i := range r.Values {
		if v := &r.Values[i]; v.Field.Name == name {
			n, ok := v.Number()
			return uint32(n), ok
		}
	}
	return 0, false
}
