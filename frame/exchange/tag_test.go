package exchange_test

import (
	"encoding/hex"
	"strings"
	"testing"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/payload"
)

// longTag is 32 characters of Latin-1, padded with 00.
func longTag(text string) string {
	return hex.EncodeToString([]byte(text + strings.Repeat("\x00", 32-len(text))))
}

// What a device is called is told by what it answers to, and by what was written
// into it.
func TestTags(t *testing.T) {
	const long = "Quillmere level 1"
	for _, tt := range []struct {
		name         string
		said         []frame.Frame
		tag, longTag string
	}{
		{"read tag", []frame.Frame{reply(device5, 13, tagLT103)}, "LT-103", ""},
		{"write tag", []frame.Frame{request(device5, 18, tagLT103), reply(device5, 18, tagLT103)}, "LT-103", ""},
		{"a write without reply", []frame.Frame{request(device5, 18, tagLT103)}, "", ""},
		{"a write that is refused", []frame.Frame{request(device5, 18, tagLT103), refused(reply(device5, 18, tagLT103))}, "", ""},
		{"asked for by its tag", []frame.Frame{request(frame.Broadcast, 11, "31 4b 71 c3 38 20"), reply(device5, 11, identity5)}, "LT-103", ""},
		{"the request for the tag was not heard", []frame.Frame{reply(device5, 11, identity5)}, "", ""},
		{"a tag cut short", []frame.Frame{reply(device5, 13, "31 4b 71 c3 38")}, "", ""},
		{"read long tag", []frame.Frame{reply(device5, 20, longTag(long))}, "", long},
		{"write long tag", []frame.Frame{reply(device5, 22, longTag(long))}, "", long},
		{"a long tag cut short", []frame.Frame{reply(device5, 20, longTag(long)[:40])}, "", ""},
		{"with a letter beyond ASCII", []frame.Frame{reply(device5, 20, longTag("M\xfchle"))}, "", "Mühle"},
		{"both", []frame.Frame{reply(device5, 20, longTag(long)), reply(device5, 13, tagFT102)}, "FT-102", long},
		{"a new one", []frame.Frame{reply(device5, 13, tagFT102), reply(device5, 18, tagLT103)}, "LT-103", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := conversation{t: t}
			m := c.say(reply(device5, 0, identity5), untimed)
			d := m.Device
			for _, f := range tt.said {
				c.say(f, untimed)
			}
			if d.Tag != tt.tag || d.LongTag != tt.longTag {
				t.Errorf("tag %q, long tag %q, want %q, %q", d.Tag, d.LongTag, tt.tag, tt.longTag)
			}
		})
	}
}

// The tag in a damaged request is none.
func TestTagOfADamagedRequest(t *testing.T) {
	var tracker exchange.Tracker
	var m exchange.Message
	for _, h := range []heard{
		{frame: request(frame.Broadcast, 21, longTag("Quillmere level 1")+"00"+longTag("")), damage: frame.FieldCheckByte},
		{frame: reply(device7, 21, identity7)},
	} {
		ev := h.event(t)
		tracker.Follow(0, &ev, untimed)
		tracker.Next(&m)
	}
	if m.ReplyTo != 1 || m.Device == nil || m.Device.LongTag != "" {
		t.Errorf("reply to %d, device %+v, want 1, one without tag", m.ReplyTo, m.Device)
	}
}

func refused(f frame.Frame) frame.Frame {
	f.Status.Response = 7
	return f
}

// Command 21 is command 11 with a long tag.
func TestIdentityByLongTag(t *testing.T) {
	c := conversation{t: t}
	c.say(request(frame.Broadcast, 21, longTag("Quillmere level 1")), untimed)
	m := c.say(reply(device7, 21, identity7), untimed)
	if m.Device == nil || m.Device.LongTag != "Quillmere level 1" || m.Device.String() != "Quillmere level 1" {
		t.Errorf("device %+v, want Quillmere level 1", m.Device)
	}
}

// What a device tells of itself, as it stands in the replies.
func TestIdentityFields(t *testing.T) {
	for _, tt := range []struct {
		from     frame.Address
		identity string
		want     exchange.Device
	}{
		{device5, identity5, exchange.Device{Unique: device5, Polling: -1, Revision: 5, Manufacturer: 0xf9, DeviceType: 1, DeviceRevision: 1}},
		{device7, identity7, exchange.Device{Unique: device7, Polling: -1, Revision: 7, Manufacturer: 0xf9, DeviceType: 0xf902, DeviceRevision: 1}},
	} {
		c := conversation{t: t}
		if m := c.say(reply(tt.from, 0, tt.identity), untimed); m.Device == nil || *m.Device != tt.want {
			t.Errorf("got  %+v\nwant %+v", m.Device, tt.want)
		}
	}
}

// A reply to command 6 moves the device, one to 7 says where it is.
func TestPollingAddressMoves(t *testing.T) {
	three, five := frame.Polling(3), frame.Polling(5)
	for _, tt := range []struct {
		name        string
		said        frame.Frame
		left, found frame.Address
	}{
		{"by its unique address", reply(device5, 6, "05"), three, five},
		{"by its polling address", reply(three, 6, "05"), three, five},
		{"with the loop current mode", reply(device5, 6, "05 01"), three, five},
		{"command 7 tells", reply(device5, 7, "05 01"), three, five},
		{"a request alone moves nothing", request(device5, 6, "05"), five, three},
		{"nor does a refusal", refused(reply(device5, 6, "05")), five, three},
		{"nor an address that is none", reply(device5, 6, "40"), frame.Polling(0), three},
		{"nor an empty reply", reply(device5, 6, ""), five, three},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := conversation{t: t}
			c.say(reply(three, 0, identity5), untimed)
			c.say(tt.said, untimed)
			if m := c.say(request(tt.left, 1, ""), untimed); m.Device != nil {
				t.Errorf("%v answers to %v", m.Device, tt.left)
			}
			if m := c.say(request(tt.found, 1, ""), untimed); m.Device == nil || m.Device.Unique != device5 {
				t.Errorf("%v answers to %v, want %v", m.Device, tt.found, device5)
			}
		})
	}
}

// Two devices that answer for one polling address are told once, until one of
// them goes away.
func TestRivals(t *testing.T) {
	three := frame.Polling(3)
	first, second := reply(three, 0, identity5), reply(three, 0, identity7)
	third := reply(three, 0, strings.Replace(identity5, "00 00 00 07", "00 00 00 09", 1))
	for _, tt := range []struct {
		name string
		said []frame.Frame
		want []bool // which of them tell of a rival
	}{
		{"one device", []frame.Frame{first, first, first}, []bool{false, false, false}},
		{"two", []frame.Frame{first, second, first, second}, []bool{false, true, false, false}},
		{"a third", []frame.Frame{first, second, third}, []bool{false, true, false}},
		{"at two addresses", []frame.Frame{first, reply(frame.Polling(4), 0, identity7)}, []bool{false, false}},
		{"the first has moved before", []frame.Frame{first, reply(device5, 6, "05"), second}, []bool{false, false, false}},
		{"it moves to where one is", []frame.Frame{first, reply(frame.Polling(5), 0, identity7), reply(device5, 6, "05")}, []bool{false, false, true}},
		{"told again when it had been mended", []frame.Frame{first, second, reply(device7, 6, "05"), first, second}, []bool{false, true, false, false, true}},
		{"told by command 7", []frame.Frame{first, reply(device7, 0, identity7), reply(device7, 7, "03 00")}, []bool{false, false, true}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := conversation{t: t}
			for i, f := range tt.said {
				m := c.say(f, untimed)
				if got := m.Rival != nil; got != tt.want[i] {
					t.Errorf("message %d: rival %v, want %v", i+1, m.Rival, tt.want[i])
				}
				if m.Rival != nil && m.Rival == m.Device {
					t.Errorf("message %d: %v is its own rival", i+1, m.Device)
				}
			}
		})
	}
}

// Definitions of a user hold for the devices of their type, and values are left
// out on demand while identities are learned.
func TestBookAndUnread(t *testing.T) {
	var book payload.Book
	own := &payload.Definition{Command: 140, Name: "read pump speed"}
	if err := book.Add(payload.DeviceTypeOf(device5), own); err != nil {
		t.Fatal(err)
	}
	c := conversation{t: t}
	c.tracker.Book, c.tracker.Unread = &book, true
	c.say(reply(frame.Polling(3), 0, identity5), untimed)
	c.say(reply(frame.Polling(4), 0, identity7), untimed)
	for a, want := range map[frame.Address]*payload.Definition{
		frame.Polling(3): own, device5: own, frame.Polling(4): nil, device7: nil, frame.Polling(5): nil,
	} {
		if m := c.say(request(a, 140, ""), untimed); m.Definition != want {
			t.Errorf("command 140 of %v is %+v, want %+v", a, m.Definition, want)
		}
	}
	m := c.say(reply(device5, 1, "39 41 c8 00 00"), untimed)
	if m.Definition == nil || len(m.Reading.Values) != 0 || m.Device == nil || m.Device.Polling != 3 {
		t.Errorf("unread: definition %+v, values %v, device %+v", m.Definition, m.Reading.Values, m.Device)
	}
}
