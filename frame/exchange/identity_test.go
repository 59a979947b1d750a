package exchange_test

import (
	"testing"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/payload"
)

// The revision that a reply to command 0 tells holds for both addresses of the
// device, whichever the question went to.
func TestIdentityHoldsForBothAddresses(t *testing.T) {
	polling := frame.Polling(3)
	for _, tt := range []struct {
		name     string
		asked    []frame.Address // for command 0, in this order
		identity []string
		then     frame.Address
		revision uint8
	}{
		{"by the polling address", []frame.Address{polling}, []string{identity5}, polling, 5},
		{"by the polling address, then the unique one", []frame.Address{polling}, []string{identity5}, device5, 5},
		{"by the unique address", []frame.Address{device7}, []string{identity7}, device7, 7},
		{"both, the later one tells a new revision for both",
			[]frame.Address{polling, device5}, []string{identity5, "fe f9 01 05 06 01 01 08 00 00 00 07 05 04 00 00 00"}, polling, 6},
		{"another device at the polling address", []frame.Address{polling, polling}, []string{identity5, identity7}, polling, 7},
		{"another device at the polling address, the first by its own", []frame.Address{polling, polling},
			[]string{identity5, identity7}, device5, 5},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := conversation{t: t}
			for i, a := range tt.asked {
				m := c.say(reply(a, 0, tt.identity[i]), untimed)
				if m.Reading.Basis != payload.Told || m.Device == nil {
					t.Fatalf("command 0: basis %v, device %v", m.Reading.Basis, m.Device)
				}
			}
			m := c.say(reply(tt.then, 15, outputs), untimed)
			if m.Reading.Revision != tt.revision || m.Reading.Basis != payload.Given {
				t.Errorf("command 15 is read by revision %d (basis %v), want %d, given", m.Reading.Revision, m.Reading.Basis, tt.revision)
			}
			if m.Device == nil || m.Device.Revision != tt.revision {
				t.Errorf("device %+v, want revision %d", m.Device, tt.revision)
			}
		})
	}
}

func TestRevisionIsAssumedBeforeTheIdentityIsKnown(t *testing.T) {
	c := conversation{t: t}
	if m := c.say(reply(device5, 15, outputs), untimed); m.Reading.Basis != payload.Assumed || m.Device != nil {
		t.Errorf("basis %v, device %v, want assumed, none", m.Reading.Basis, m.Device)
	}
	c.say(reply(device5, 0, identity5), untimed)
	if m := c.say(reply(device5, 15, outputs), untimed); m.Reading.Basis != payload.Given {
		t.Errorf("behind the identity: basis %v, want given", m.Reading.Basis)
	}
	if m := c.say(reply(device7, 15, outputs), untimed); m.Reading.Basis != payload.Assumed {
		t.Errorf("another device: basis %v, want assumed", m.Reading.Basis)
	}
}

// A reply that says that it could not be done, or a torn one, introduces nobody.
func TestNobodyIsIntroducedBy(t *testing.T) {
	failed := reply(frame.Polling(3), 0, identity5)
	failed.Status.Response = 6
	garbled := reply(frame.Polling(3), 0, identity5)
	garbled.Status.Response = frame.VerticalParity.Response()
	for name, f := range map[string]frame.Frame{
		"a request":                 request(frame.Polling(3), 0, identity5),
		"a reply with an error":     failed,
		"communication errors":      garbled,
		"a reply without device ID": reply(frame.Polling(3), 0, "fe f9 01 05 05 01 01 08 00 00 00"),
		"an empty reply":            reply(frame.Polling(3), 0, ""),
		"the reply to command 3":    reply(frame.Polling(3), 3, identity5),
	} {
		c := conversation{t: t}
		if m := c.say(f, untimed); m.Device != nil {
			t.Errorf("%s: %v", name, m.Device)
		}
	}
}

// Before anything is told nobody has a name; command 13 tells the tag.
func TestDeviceName(t *testing.T) {
	c := conversation{t: t}
	polling := frame.Polling(3)
	if m := c.say(reply(device5, 13, tagLT103), untimed); m.Device != nil {
		t.Errorf("a tag alone introduces %v", m.Device)
	}
	for _, step := range []struct {
		f    frame.Frame
		name string
	}{
		{reply(device5, 0, identity5), "3901000007"},
		{reply(polling, 0, identity5), "3901000007 (3)"},
		{reply(device5, 13, tagLT103), "LT-103 (3)"},
		{request(polling, 1, ""), "LT-103 (3)"},
		{reply(polling, 13, tagFT102), "FT-102 (3)"},
		{reply(frame.Polling(5), 0, identity5), "FT-102 (5)"},
		{request(device5, 1, ""), "FT-102 (5)"},
		{reply(device7, 0, identity7), "3902000008"},
		{reply(device7, 13, tagLT103), "LT-103"},
	} {
		m := c.say(step.f, untimed)
		if m.Device == nil || m.Device.String() != step.name {
			t.Errorf("%v %d: device %v, want %s", step.f.Kind, step.f.Command, m.Device, step.name)
		}
	}
	if m := c.say(request(polling, 1, ""), untimed); m.Device != nil {
		t.Errorf("%v still listens to the polling address that it left", m.Device)
	}
}

// A reply to command 13 that failed tells no tag.
func TestTagOfAnErrorReply(t *testing.T) {
	c := conversation{t: t}
	c.say(reply(device5, 0, identity5), untimed)
	f := reply(device5, 13, tagLT103)
	f.Status.Response = 32
	if m := c.say(f, untimed); m.Device == nil || m.Device.Tag != "" {
		t.Errorf("device %+v, want one without tag", m.Device)
	}
}

// A capture can name more devices than a line holds. What is learned last
// counts, also when the room for them was used up.
func TestManyDevices(t *testing.T) {
	c := conversation{t: t}
	for id := range uint32(5000) {
		polling := frame.Polling(uint8(id % 64))
		data := unhex(identity7)
		data[10], data[11] = byte(id>>8), byte(id)
		f := reply(polling, 0, "")
		f.Data = data
		unique := frame.Unique(0x3902, id)
		for name, m := range map[string]exchange.Message{
			"its introduction":   c.say(f, untimed),
			"its unique address": c.say(reply(unique, 13, tagLT103), untimed),
		} {
			if m.Device == nil || m.Device.Unique != unique {
				t.Fatalf("device %d, %s: taken for %v", id, name, m.Device)
			}
		}
		if m := c.say(request(polling, 1, ""), untimed); m.Device == nil || m.Device.Unique != unique {
			t.Fatalf("device %d, its polling address: taken for %v", id, m.Device)
		}
	}
}

// TestIntroduced: a device that was made known is read by its revision before it has said
// anything itself, and is found at a polling address only once it has answered there.
func TestIntroduced(t *testing.T) {
	var tr exchange.Tracker
	unique := frame.Unique(0x3902, 0x67)
	tr.Introduce(exchange.Device{Unique: unique, Polling: 3, Revision: 7, Tag: "LT-103"})
	for _, c := range []struct {
		to   frame.Address
		want string
	}{{unique, "LT-103 (3)"}, {frame.Polling(3), ""}, {frame.Unique(0x3902, 0x68), ""}} {
		ev := frame.Event{Outcome: frame.Whole, Frame: frame.Frame{Kind: frame.STX, Address: c.to}}
		tr.Follow(0, &ev, exchange.Span{})
		var m exchange.Message
		for tr.Next(&m) && m.Unanswered > 0 { // the one before
		}
		got := ""
		if m.Device != nil {
			got = m.Device.String()
		}
		if got != c.want {
			t.Errorf("%v is %q, want %q", c.to, got, c.want)
		}
	}
}
