package exchange_test

import (
	"testing"
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
)

func secondary(f frame.Frame) frame.Frame {
	f.Primary = false
	return f
}

func burst(f frame.Frame) frame.Frame {
	f.Kind, f.Burst = frame.BACK, true
	return f
}

func garbled(f frame.Frame) frame.Frame {
	f.Status.Response = frame.LongitudinalParity.Response()
	return f
}

func TestPairing(t *testing.T) {
	three, four := frame.Polling(3), frame.Polling(4)
	tag := "31 4b 71 c3 38 20"
	for _, tt := range []struct {
		name string
		said []frame.Frame
		want []int // what each replies to
	}{
		{"request and reply", []frame.Frame{request(three, 1, ""), reply(three, 1, "")}, []int{0, 1}},
		{"a reply that nobody asked for", []frame.Frame{reply(three, 1, "")}, []int{0}},
		{"to polling address 0 and command 0, which are zero values", []frame.Frame{reply(frame.Polling(0), 0, identity5)}, []int{0}},
		{"answered twice", []frame.Frame{request(three, 1, ""), reply(three, 1, ""), reply(three, 1, "")}, []int{0, 1, 0}},
		{"another address", []frame.Frame{request(three, 1, ""), reply(four, 1, ""), reply(three, 1, "")}, []int{0, 0, 1}},
		{"polling and unique address of one device", []frame.Frame{reply(three, 0, identity5), request(three, 1, ""), reply(device5, 1, "")}, []int{0, 0, 0}},
		{"another command", []frame.Frame{request(three, 1, ""), reply(three, 2, ""), reply(three, 1, "")}, []int{0, 0, 1}},
		{"another master", []frame.Frame{request(three, 1, ""), secondary(reply(three, 1, ""))}, []int{0, 0}},
		{"no reply, asked again", []frame.Frame{request(three, 1, ""), request(three, 1, ""), reply(three, 1, "")}, []int{0, 0, 2}},
		{"no reply, then another command", []frame.Frame{request(three, 1, ""), request(three, 2, ""), reply(three, 1, ""), reply(three, 2, "")}, []int{0, 0, 0, 2}},
		{"two masters, one behind the other", []frame.Frame{request(three, 1, ""), reply(three, 1, ""),
			secondary(request(three, 1, "")), secondary(reply(three, 1, ""))}, []int{0, 1, 0, 3}},
		{"two masters, one into the other", []frame.Frame{request(three, 1, ""), secondary(request(three, 1, "")),
			secondary(reply(three, 1, "")), reply(three, 1, "")}, []int{0, 0, 2, 1}},
		{"a burst between", []frame.Frame{request(three, 1, ""), burst(reply(three, 1, "")), reply(three, 1, "")}, []int{0, 0, 1}},
		{"to all, answered by one", []frame.Frame{request(frame.Broadcast, 11, tag), reply(device5, 11, identity5)}, []int{0, 1}},
		{"to all, answered by a polling address", []frame.Frame{request(frame.Broadcast, 11, tag), reply(three, 11, identity5)}, []int{0, 0}},
		{"to all, another command", []frame.Frame{request(frame.Broadcast, 11, tag), reply(device5, 0, identity5)}, []int{0, 0}},
		{"an unknown command", []frame.Frame{request(three, 146, "01 42 48 00 00"), reply(three, 146, "01 42 48 00 00")}, []int{0, 1}},
		{"an extended command", []frame.Frame{request(three, 512, "05"), reply(three, 513, "05 07"), reply(three, 512, "05 07")}, []int{0, 0, 1}},
		{"an extended command that was heard with errors", []frame.Frame{request(three, 512, "05"), garbled(reply(three, 31, ""))}, []int{0, 1}},
		{"command 3, and 3 as an extended number", []frame.Frame{request(three, 3, ""), reply(three, 31, "00 03")}, []int{0, 0}},
		{"an error reply", []frame.Frame{request(three, 1, ""), garbled(reply(three, 1, ""))}, []int{0, 1}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := conversation{t: t}
			for i, f := range tt.said {
				m := c.say(f, nil)
				if m.Number != i+1 || m.ReplyTo != tt.want[i] {
					t.Errorf("message %d: number %d, reply to %d, want %d", i+1, m.Number, m.ReplyTo, tt.want[i])
				}
				if m.Response != nil {
					t.Errorf("message %d: response time %v without times", i+1, *m.Response)
				}
			}
		})
	}
}

// Events that are no frames have a number and nothing else, and break no pair.
func TestTroubleBetweenRequestAndReply(t *testing.T) {
	c := conversation{t: t}
	c.say(request(frame.Polling(3), 1, ""), nil)
	noise := frame.Event{Outcome: frame.Noise, Raw: []byte{0x55}}
	if m := c.tracker.Follow(&noise, nil); m.Number != 2 || m.Definition != nil || m.Device != nil || m.ReplyTo != 0 {
		t.Errorf("noise: %+v", m)
	}
	damage := frame.Event{Outcome: frame.Damaged, Frame: reply(frame.Polling(3), 1, "")}
	if m := c.tracker.Follow(&damage, nil); m.Number != 3 || m.Definition != nil || m.ReplyTo != 0 {
		t.Errorf("damage: %+v", m)
	}
	if m := c.say(reply(frame.Polling(3), 1, ""), nil); m.Number != 4 || m.ReplyTo != 1 {
		t.Errorf("reply: number %d, to %d, want 4, 1", m.Number, m.ReplyTo)
	}
}

// The response time runs from the end of the request to the first start bit of
// the reply, preambles included; the caller may use one span for all events.
func TestResponseTime(t *testing.T) {
	c := conversation{t: t}
	span := at(0, 100*time.Millisecond)
	c.say(request(frame.Polling(3), 1, ""), span)
	*span = *at(152*time.Millisecond, 300*time.Millisecond)
	span.Start = 198 * time.Millisecond
	m := c.say(reply(frame.Polling(3), 1, ""), span)
	if m.Response == nil || *m.Response != 52*time.Millisecond {
		t.Errorf("response time %v, want 52ms", m.Response)
	}
	if m.Span != span {
		t.Errorf("span %v, want that of the reply", m.Span)
	}
}

func TestResponseTimeWantsBothTimes(t *testing.T) {
	three, span := frame.Polling(3), at(time.Second, 2*time.Second)
	for _, tt := range []struct{ asked, answered *exchange.Span }{{nil, nil}, {span, nil}, {nil, span}} {
		c := conversation{t: t}
		c.say(request(three, 1, ""), tt.asked)
		if m := c.say(reply(three, 1, ""), tt.answered); m.ReplyTo != 1 || m.Response != nil {
			t.Errorf("spans %v and %v: reply to %d after %v, want 1 and no time", tt.asked, tt.answered, m.ReplyTo, m.Response)
		}
	}
}
