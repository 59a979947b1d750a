package exchange

import (
	"bytes"
	"strconv"

	"looptone/frame"
	"looptone/frame/payload"
)

// A Device is what a conversation has told of a device.
type Device struct {
	Unique         frame.Address
	Polling        int // −1 where it is not known
	Revision       uint8
	Manufacturer   uint16
	DeviceType     uint16 // from revision 7 on the expanded one
	DeviceRevision uint8
	Tag            string // "" where it is not known
	LongTag        string // "" where it is not known
}

// Name is the tag, or the long tag where only that is known; "" without either.
func (d *Device) Name() string {
	if d.Tag != "" {
		return d.Tag
	}
	return d.LongTag
}

// String names the device for a person: by its tag and polling address, as far
// as they are known, else by its unique address.
func (d *Device) String() string { return string(d.Append(nil)) }

// Append writes what String gives to dst.
func (d *Device) Append(dst []byte) []byte {
	if name := d.Name(); name != "" {
		dst = append(dst, name...)
	} else {
		dst, _ = d.Unique.AppendText(dst)
	}
	if d.Polling >= 0 {
		dst = append(dst, " ("...)
		dst = strconv.AppendInt(dst, int64(d.Polling), 10)
		dst = append(dst, ')')
	}
	return dst
}

// learnTag takes over the tag in packed ASCII; one that is known already costs
// no allocation.
func (d *Device) learnTag(packed []byte) {
	var room [8]byte
	if len(packed) >= 6 {
		d.Tag = unless(d.Tag, payload.AppendUnpacked(room[:0], packed[:6]))
	}
}

// learnLongTag takes over the long tag in Latin-1.
func (d *Device) learnLongTag(latin1 []byte) {
	var room [64]byte
	if len(latin1) >= 32 {
		d.LongTag = unless(d.LongTag, payload.AppendFromLatin1(room[:0], latin1[:32]))
	}
}

// unless is text without the blanks at its end: old, where that is the same.
func unless(old string, text []byte) string {
	if text = bytes.TrimRight(text, " "); string(text) == old {
		return old
	}
	return string(text)
}
