package exchange_test

import (
	"fmt"
	"testing"

	"looptone/frame"
	"looptone/frame/exchange"
)

// talk is a conversation of two masters with two devices, as characters.
func talk(t testing.TB) (wires [][]byte) {
	t.Helper()
	three, four := frame.Polling(3), frame.Polling(4)
	for _, f := range []frame.Frame{
		request(three, 0, ""), reply(three, 0, identity5),
		secondary(request(four, 0, "")), secondary(reply(four, 0, identity7)),
		request(device5, 13, ""), reply(device5, 13, tagLT103),
		secondary(request(device7, 13, "")), secondary(reply(device7, 13, tagFT102)),
		request(device5, 15, ""), reply(device5, 15, outputs),
		request(device5, 512, "05"), secondary(request(device7, 1, "")),
		secondary(reply(device7, 1, "39 41 c8 00 00")), reply(device5, 512, "05 07"),
		request(device5, 3, ""), reply(device5, 3, "41 00 00 00 0c 41 c8 00 00 20 42 28 00 00"),
		burst(reply(device7, 1, "39 42 c8 00 00")),
	} {
		wire, err := f.AppendBinary(frame.AppendPreambles(nil, 5))
		if err != nil {
			t.Fatal(err)
		}
		wires = append(wires, wire)
	}
	return wires
}

// told is what is known of a message, in words that share no memory with it.
func told(m *exchange.Message) string {
	s := fmt.Sprintf("%d to %d %v rev %d basis %d", m.Number, m.ReplyTo, m.Frame.Address, m.Reading.Revision, m.Reading.Basis)
	if m.Device != nil {
		s += fmt.Sprintf(" %v %v %d %s", m.Device, m.Device.Unique, m.Device.Polling, m.Device.Tag)
	}
	for i := range m.Reading.Values {
		v := &m.Reading.Values[i]
		s += fmt.Sprintf(" %s=% x %s", v.Field.Name, v.Raw, v.UnitSymbol())
	}
	return s
}

// An event's memory is used again for the next. With every event overwritten as
// soon as it was followed the tracker tells the same.
func TestNothingOfAnEventIsKept(t *testing.T) {
	var want []string
	fresh := exchange.Tracker{}
	for _, wire := range talk(t) {
		var d frame.Decoder
		var ev frame.Event
		d.Feed(wire, nil)
		d.Next(&ev)
		var m exchange.Message
		for fresh.Follow(0, &ev, untimed); fresh.Next(&m); {
			want = append(want, told(&m))
		}
	}
	var d frame.Decoder
	var ev frame.Event
	var tracker exchange.Tracker
	var buffer [128]byte
	n := 0
	for i, wire := range talk(t) {
		d.Feed(buffer[:copy(buffer[:], wire)], nil)
		clear(buffer[:])
		if !d.Next(&ev) {
			t.Fatalf("no event of message %d", i+1)
		}
		var m exchange.Message
		for tracker.Follow(0, &ev, untimed); tracker.Next(&m); n++ {
			if got := told(&m); n >= len(want) || got != want[n] {
				t.Fatalf("message %d:\ngot  %s\nwant %s", n+1, got, want[n:])
			}
		}
		clear(ev.Raw)
		ev = frame.Event{}
	}
}

// A conversation that goes on costs no memory once its devices are known. The race
// detector allocates on its own, so the name keeps this test out of its pass.
func TestAllocations(t *testing.T) {
	var stream []byte
	wires := talk(t)
	for _, wire := range wires {
		stream = append(stream, wire...)
	}
	var d frame.Decoder
	var ev frame.Event
	var tracker exchange.Tracker
	var m exchange.Message
	var statistics exchange.Statistics
	var events, values int
	round := func() {
		d.Feed(stream, nil)
		for d.Next(&ev) {
			for tracker.Follow(0, &ev, at(0, 0)); tracker.Next(&m); {
				events++
				values += len(m.Reading.Values)
				statistics.Add(&m)
			}
		}
	}
	for range 150 { // until the list of writes is full
		round()
	}
	events, values = 0, 0
	if n := testing.AllocsPerRun(50, round); n != 0 {
		t.Errorf("%v allocations in %d events", n, len(wires))
	}
	if events != 51*len(wires) || values < events {
		t.Errorf("%d events with %d values, want %d events", events, values, 51*len(wires))
	}
}
