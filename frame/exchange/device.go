package exchange

import (
	"fmt"

	"looptone/frame"
	"looptone/frame/payload"
)

// A Device is what a conversation has told of a device.
type Device struct {
	Unique   frame.Address
	Polling  int // −1 where it is not known
	Revision uint8
	Tag      string // "" where it is not known
}

// maxDevices is how many devices are kept apart, each with two addresses at
// most; a line has 64 polling addresses.
const maxDevices = 1024

// devices are those that introduced themselves, by their addresses.
type devices map[frame.Address]*Device

// learn takes over what a reply tells of the device that sent it.
func (ds devices) learn(f *frame.Frame, r *payload.Reading) {
	switch f.Number() {
	case 0, 11:
		ds.introduce(f, r)
	case 13:
		if d := ds[f.Address]; d != nil {
			d.learnTag(r)
		}
	}
}

// introduce takes over the reply to command 0, or to 11, which has its data.
func (ds devices) introduce(f *frame.Frame, r *payload.Reading) {
	if r.Basis != payload.Told {
		return
	}
	maker, ok := whole(r, "manufacturer")
	expanded, ok7 := whole(r, "expanded device type")
	short, ok5 := whole(r, "device type")
	id, okID := whole(r, "device id")
	if !(ok || ok7) || !(ok5 || ok7) || !okID {
		return
	}
	unique := frame.UniqueOf(r.Revision, uint16(maker), uint16(expanded|short), id)
	d := ds[unique]
	if d == nil {
		if len(ds) >= 2*maxDevices {
			clear(ds) // so many are no line: what comes now counts, not what came first
		}
		d = &Device{Unique: unique, Polling: -1}
		ds[unique] = d
	}
	d.Revision = r.Revision
	if n, ok := f.Address.IsPolling(); ok {
		ds.listens(d, n)
	}
}

// listens notes that d has polling address n, and no longer the one before.
func (ds devices) listens(d *Device, n uint8) {
	if before := frame.Polling(uint8(d.Polling)); d.Polling >= 0 && ds[before] == d {
		delete(ds, before)
	}
	d.Polling = int(n)
	ds[frame.Polling(n)] = d
}

// learnTag takes over the tag; one that is known already costs no allocation.
func (d *Device) learnTag(r *payload.Reading) {
	v := find(r, "tag")
	if v == nil {
		return
	}
	var room [8]byte
	if tag, ok := v.AppendText(room[:0]); ok && string(tag) != d.Tag {
		d.Tag = string(tag)
	}
}

// String names the device for a person: by its tag and polling address, as far
// as they are known, else by its unique address.
func (d *Device) String() string {
	switch {
	case d.Tag != "" && d.Polling >= 0:
		return fmt.Sprintf("%s (%d)", d.Tag, d.Polling)
	case d.Tag != "":
		return d.Tag
	case d.Polling >= 0:
		return fmt.Sprintf("%v (%d)", d.Unique, d.Polling)
	}
	return d.Unique.String()
}

func find(r *payload.Reading, name string) *payload.Value {
	for i := range r.Values {
		if r.Values[i].Field.Name == name {
			return &r.Values[i]
		}
	}
	return nil
}

func whole(r *payload.Reading, name string) (uint32, bool) {
	if v := find(r, name); v != nil {
		n, ok := v.Number()
		return uint32(n), ok
	}
	return 0, false
}
