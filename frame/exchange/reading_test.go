package exchange_test

import (
	"bytes"
	"os"
	"testing"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/vector"
)

// 25.0 % as printed.
//
// Source: Buerkert, Type 8605 description of communication, p.16.
func TestPublishedReply(t *testing.T) {
	var d frame.Decoder
	var tracker exchange.Tracker
	d.Feed(readVector(t, "published-request-command-1").Chars, nil)
	d.Feed(readVector(t, "published-reply-command-1").Chars, nil)
	var ev frame.Event
	d.Next(&ev)
	var asked, m exchange.Message
	tracker.Follow(0, &ev, untimed)
	tracker.Next(&asked)
	if asked.Definition == nil || asked.Definition.Command != 1 || len(asked.Reading.Values) != 0 {
		t.Errorf("request: definition %+v, values %v", asked.Definition, asked.Reading.Values)
	}
	d.Next(&ev)
	tracker.Next(&asked)
	tracker.Follow(0, &ev, untimed)
	tracker.Next(&m)
	if m.ReplyTo != 1 || len(m.Reading.Values) != 1 {
		t.Fatalf("reply to %d with values %v, want 1 and one value", m.ReplyTo, m.Reading.Values)
	}
	v := m.Reading.Values[0]
	if x, ok := v.Number(); !ok || x != 25 || v.UnitSymbol() != "%" {
		t.Errorf("primary variable %v %s, want 25 %%", x, v.UnitSymbol())
	}
}

func readVector(t testing.TB, name string) *vector.Vector {
	t.Helper()
	vectors, err := vector.Read(os.DirFS("../../testdata/vectors"))
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range vectors {
		if v.Name == name {
			return v
		}
	}
	t.Fatalf("no vector %s", name)
	return nil
}

// Only a command that was executed, if with a warning, has values in its reply.
//
// Source: reading notes on the command summary document (an error reply carries
// no data, byte count 2); Allen-Bradley 1770-HT8 manual, p.4-12 (a host discards
// the data behind a communication error); Biffi ICON3000 HART manual MDE 254,
// p.25 (8 and 30 are warnings with data).
func TestErrorRepliesCarryNoValues(t *testing.T) {
	const percent25 = "39 41 c8 00 00"
	for _, tt := range []struct {
		response frame.Response
		values   int
	}{
		{0, 1}, {8, 1}, {30, 1}, {2, 0}, {5, 0}, {7, 0}, {32, 0}, {64, 0},
		{frame.VerticalParity.Response(), 0}, {0x80, 0}, {0xff, 0},
	} {
		c := conversation{t: t}
		f := reply(frame.Polling(3), 1, percent25)
		f.Status.Response = tt.response
		m := c.say(f, untimed)
		if len(m.Reading.Values) != tt.values || m.Definition == nil {
			t.Errorf("response %02x: %d values, definition %v, want %d values", uint8(tt.response), len(m.Reading.Values), m.Definition, tt.values)
		}
		if !bytes.Equal(m.Frame.Data, unhex(percent25)) {
			t.Errorf("response %02x: data % x", uint8(tt.response), m.Frame.Data)
		}
	}
}

// Nothing is known of a device-specific command, and of an extended one.
func TestUnknownCommands(t *testing.T) {
	for _, number := range []uint16{122, 146, 255, 64512, 65535} {
		c := conversation{t: t}
		c.say(reply(frame.Polling(3), 0, identity5), untimed)
		for _, f := range []frame.Frame{request(frame.Polling(3), number, "01 02"), reply(frame.Polling(3), number, "01 02")} {
			m := c.say(f, untimed)
			if m.Definition != nil || len(m.Reading.Values) > 0 {
				t.Errorf("command %d: definition %v, values %v", number, m.Definition, m.Reading.Values)
			}
			if m.Device == nil || m.Frame.Number() != number {
				t.Errorf("command %d: device %v, number %d", number, m.Device, m.Frame.Number())
			}
		}
	}
}
