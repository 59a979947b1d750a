package exchange_test

import (
	"slices"
	"testing"
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
)

// The same frame on another stream at once is an echo: it is no request of its
// own, and has no number.
func TestEchoes(t *testing.T) {
	on := func(stream int, f frame.Frame, begin ...time.Duration) heard {
		h := heard{frame: f, stream: stream}
		if len(begin) > 0 {
			h.at = at(begin[0], begin[0]+100*time.Millisecond)
		}
		return h
	}
	damaged := func(h heard) heard {
		h.damage = frame.FieldCheckByte
		return h
	}
	ask, say := request(frame.Polling(3), 1, ""), reply(frame.Polling(3), 1, "39 41 c8 00 00")
	const ms = time.Millisecond
	for _, tt := range []struct {
		name string
		said []heard
		want []string
	}{
		{"two probes", []heard{on(0, ask), on(1, ask), on(0, say), on(1, say)}, []string{"1: asks", "echo of 1", "2: answers 1", "echo of 2"}},
		{"three", []heard{on(0, ask), on(1, ask), on(2, ask), on(2, say), on(0, say)},
			[]string{"1: asks", "echo of 1", "echo of 1", "2: answers 1", "echo of 2"}},
		{"on one stream it is said twice", []heard{on(0, say), on(0, say)}, []string{"1: unasked", "2: unasked"}},
		{"a retry with its echo", []heard{on(0, ask), on(1, ask), on(0, ask), on(1, ask)},
			[]string{"1: asks", "echo of 1", "2: no reply to 1", "3: asks 1 again", "echo of 3", "4: no reply to 3"}},
		{"a retry whose echo comes first", []heard{on(0, ask), on(1, ask), on(1, ask), on(0, ask)},
			[]string{"1: asks", "echo of 1", "2: no reply to 1", "3: asks 1 again", "echo of 3", "4: no reply to 3"}},
		{"two directions are no echoes", []heard{on(0, ask), on(1, say)}, []string{"1: asks", "2: answers 1"}},
		{"without times only directly behind", []heard{on(0, say), on(0, burst(say)), on(1, say)}, []string{"1: unasked", "2: bursts", "3: unasked"}},
		{"other data", []heard{on(0, say), on(1, reply(frame.Polling(3), 1, "39 41 c8 00 01"))}, []string{"1: unasked", "2: unasked"}},
		{"damage is none", []heard{on(0, say), damaged(on(1, say))}, []string{"1: unasked", "2: damage"}},
		{"nor is a frame the echo of damage", []heard{damaged(on(0, say)), on(1, say)}, []string{"1: damage", "2: unasked"}},
		{"with times also behind another", []heard{on(0, ask, 0), on(0, say, 150*ms), on(1, ask, 20*ms), on(1, say, 170*ms)},
			[]string{"1: asks", "2: answers 1", "echo of 1", "echo of 2"}},
		{"behind another on its own stream", []heard{on(0, ask, 0), on(1, burst(say), 20*ms), on(1, ask, 40*ms)},
			[]string{"1: asks", "2: bursts", "echo of 1", "3: no reply to 1"}},
		{"stamped much earlier", []heard{on(0, say, 500*ms), on(1, say, 0)}, []string{"1: unasked", "2: unasked"}},
		{"stamped earlier", []heard{on(0, ask, 20*ms), on(1, ask, 0)}, []string{"1: asks", "echo of 1", "2: no reply to 1"}},
		{"within the slave time-out", []heard{on(0, say, 0), on(1, say, 256*ms)}, []string{"1: unasked", "echo of 1"}},
		{"behind it", []heard{on(0, say, 0), on(1, say, 257*ms)}, []string{"1: unasked", "2: unasked"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := verdicts(t, tt.said); !slices.Equal(got, tt.want) {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
		})
	}
}

// Two inputs that are decoded one behind the other are no echoes of each other,
// even if they hold the same.
func TestNoEchoBehindTheEnd(t *testing.T) {
	var tracker exchange.Tracker
	var m exchange.Message
	for stream := range 2 {
		h := heard{frame: reply(frame.Polling(3), 1, "39 41 c8 00 00")}
		ev := h.event(t)
		tracker.Follow(stream, &ev, untimed)
		if !tracker.Next(&m) || m.EchoOf != 0 || m.Number != stream+1 {
			t.Errorf("input %d: %s", stream, verdict(&m))
		}
		tracker.End()
	}
}

// An input that ends says nothing of a request at its end, and what the next one
// begins with is no echo, whatever its stream.
func TestPartSaysNothing(t *testing.T) {
	c := conversation{t: t}
	ask := request(frame.Polling(3), 1, "")
	c.say(ask, exchange.Span{})
	c.tracker.Part()
	var m exchange.Message
	if c.tracker.Next(&m) {
		t.Errorf("told %+v behind the end of an input", m)
	}
	if m = c.say(ask, exchange.Span{}); m.EchoOf != 0 || m.RetryOf != 0 {
		t.Errorf("the next input begins with %+v, want a request of its own", m)
	}
}
