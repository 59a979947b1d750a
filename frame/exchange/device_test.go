package exchange

import (
	"testing"

	"looptone/frame"
)

// The memory for devices has a bound, however many introduce themselves.
func TestDevicesAreBounded(t *testing.T) {
	const most = 2 * maxDevices // addresses

	data := []byte{0xfe, 0xf9, 0x02, 5, 7, 1, 1, 8, 0, 0, 0, 0, 5, 4, 0, 0, 0, 0, 0xf9, 0, 0xf9, 1} // constructed
	var ds devices
	largest := 0
	for id := range 5 * maxDevices {
		data[10], data[11] = byte(id>>8), byte(id)
		f := frame.Frame{Kind: frame.ACK, Address: frame.Unique(0x3902, uint32(id)), Data: data}
		ds.learn(&Message{Event: &frame.Event{Frame: f}}, nil)
		if before := frame.Unique(0x3902, uint32(id-2)); len(ds.byAddress) == 1 && ds.find(before) != nil {
			t.Errorf("device %d is still found behind the clearing", id-2)
		}
		largest = max(largest, len(ds.byAddress))
	}
	if largest < maxDevices || largest > most {
		t.Errorf("at most %d addresses were kept, want %d to %d", largest, maxDevices, most)
	}
}
