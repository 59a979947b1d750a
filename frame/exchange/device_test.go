package exchange

import (
	"testing"

	"looptone/frame"
	"looptone/frame/payload"
)

// The memory for devices has a bound, however many introduce themselves.
func TestDevicesAreBounded(t *testing.T) {
	const most = 2 * maxDevices // addresses
	d, _ := payload.Lookup(0)
	data := []byte{0xfe, 0xf9, 0x02, 5, 7, 1, 1, 8, 0, 0, 0, 0, 5, 4, 0, 0, 0, 0, 0xf9, 0, 0xf9, 1} // constructed
	ds := devices{}
	largest := 0
	for id := range 5 * maxDevices {
		data[10], data[11] = byte(id>>8), byte(id)
		r := d.Decode(nil, frame.ACK, data, 0)
		ds.learn(&frame.Frame{Kind: frame.ACK, Address: frame.Unique(0x3902, uint32(id))}, &r)
		largest = max(largest, len(ds))
	}
	if largest < maxDevices || largest > most {
		t.Errorf("at most %d addresses were kept, want %d to %d", largest, maxDevices, most)
	}
}
