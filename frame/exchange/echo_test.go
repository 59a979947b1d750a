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

// heardOn is what a stream hears from begin on, 64 ms long.
func heardOn(stream int, f frame.Frame, begin time.Duration, late time.Duration) heard {
	h := heard{frame: f, stream: stream, at: at(begin, begin+64*time.Millisecond)}
	h.at.Late = late
	return h
}

// What one probe hears whole and another damaged was said once.
func TestDamagedEchoes(t *testing.T) {
	const ms = time.Millisecond
	ask, say := request(frame.Polling(3), 1, ""), reply(frame.Polling(3), 1, "39 41 c8 00 00")
	on := func(stream int, f frame.Frame, begin time.Duration) heard { return heardOn(stream, f, begin, 0) }
	damaged := func(h heard) heard {
		h.damage = frame.FieldCheckByte
		return h
	}
	noise := func(stream int, begin time.Duration) heard {
		return heard{noise: true, length: 5, stream: stream, at: at(begin, begin+40*ms)}
	}
	for _, tt := range []struct {
		name       string
		said       []heard
		want       []string
		characters int64
	}{
		{"of a request", []heard{on(0, ask, 0), damaged(on(1, ask, ms)), on(0, say, 100*ms), on(1, say, 101*ms)},
			[]string{"1: asks", "2: damage", "3: answers 1", "echo of 3"}, 5 + 12},
		{"of a request, first", []heard{damaged(on(1, ask, 0)), on(0, ask, ms), on(0, say, 100*ms), on(1, say, 101*ms)},
			[]string{"1: damage", "2: asks", "3: answers 2", "echo of 3"}, 5 + 12},
		{"of a request, both", []heard{damaged(on(0, ask, 0)), damaged(on(1, ask, ms)), on(0, say, 100*ms)},
			[]string{"1: damage", "2: damage", "3: answers damage 1"}, 5 + 12},
		{"of a reply", []heard{on(0, ask, 0), on(0, say, 100*ms), damaged(on(1, say, 101*ms)), on(0, ask, 400*ms), on(0, say, 500*ms)},
			[]string{"1: asks", "2: answers 1", "3: damage", "4: asks", "5: answers 4"}, 2 * (5 + 12)},
		{"of a reply, first", []heard{on(0, ask, 0), damaged(on(1, say, 100*ms)), on(0, say, 101*ms)}, []string{"1: asks", "2: damage", "3: answers 1"}, 5 + 12},
		{"beside a damaged request of the other master", []heard{damaged(on(0, secondary(ask), 0)), damaged(on(1, ask, 100*ms)), on(0, ask, 101*ms), on(0, secondary(say), 200*ms)},
			[]string{"1: damage", "2: damage", "3: asks", "4: answers damage 1", "5: no reply to 3"}, 5 + 5 + 12},
		{"as noise", []heard{on(0, ask, 0), noise(1, ms), on(0, say, 100*ms)}, []string{"1: asks", "2: noise", "3: answers 1"}, 5 + 12},
		{"on its own stream it is said again", []heard{on(0, ask, 0), damaged(on(0, ask, 100*ms)), on(0, say, 200*ms)},
			[]string{"1: asks", "2: no reply to 1", "3: damage", "4: answers damage 3"}, 5 + 5 + 12},
		{"at another time it is said again", []heard{on(0, ask, 0), damaged(on(1, ask, 100*ms)), on(0, say, 200*ms)},
			[]string{"1: asks", "2: no reply to 1", "3: damage", "4: answers damage 3"}, 5 + 5 + 12},
		{"of another type it is another", []heard{on(0, ask, 0), damaged(on(1, say, 60*ms)), on(0, ask, 500*ms)},
			[]string{"1: asks", "2: damage", "3: no reply to 1 but damage 2", "4: asks 1 again", "5: no reply to 4"}, 5 + 12 + 5},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := verdicts(t, tt.said); !slices.Equal(got, tt.want) {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
			if got := counted(t, tt.said).Characters; got != tt.characters {
				t.Errorf("%d characters, want %d", got, tt.characters)
			}
		})
	}
}

// A stream whose times are late is late with echoes too, and with replies.
func TestLateStreams(t *testing.T) {
	const ms = time.Millisecond
	ask, say := request(frame.Polling(3), 1, ""), reply(frame.Polling(3), 1, "39 41 c8 00 00")
	for _, tt := range []struct {
		name string
		said []heard
		want []string
	}{
		{"an echo", []heard{heardOn(0, ask, 0, 0), heardOn(1, ask, 700*ms, 500*ms)}, []string{"1: asks", "echo of 1", "2: no reply to 1"}},
		{"one that was stamped later", []heard{heardOn(1, ask, 700*ms, 500*ms), heardOn(0, ask, 0, 0)}, []string{"1: asks", "echo of 1", "2: no reply to 1"}},
		{"only the one in front is late", []heard{heardOn(0, ask, 0, 500*ms), heardOn(1, ask, 700*ms, 0)}, []string{"1: asks", "2: no reply to 1", "3: asks 1 again", "4: no reply to 3"}},
		{"damage", []heard{heardOn(0, ask, 0, 0), {frame: ask, damage: frame.FieldCheckByte, stream: 1, at: exchange.Span{Known: true, Begin: 500 * ms, End: 600 * ms, Late: 500 * ms}}, heardOn(0, say, 900*ms, 0)},
			[]string{"1: asks", "2: damage", "3: answers 1"}},
		{"damage in front", []heard{heardOn(1, ask, 500*ms, 500*ms), {frame: ask, damage: frame.FieldCheckByte, at: at(0, 64*ms)}, heardOn(0, say, 900*ms, 0)},
			[]string{"1: asks", "2: damage", "3: answers 1"}},
		{"a reply", []heard{heardOn(0, ask, 0, 0), heardOn(1, say, 1700*ms, 500*ms)}, []string{"1: asks", "2: answers 1"}},
		{"a reply that is too late", []heard{heardOn(0, ask, 0, 0), heardOn(1, say, 1900*ms, 500*ms)}, []string{"1: asks", "2: no reply to 1", "3: unasked"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := verdicts(t, tt.said); !slices.Equal(got, tt.want) {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
		})
	}
	s := counted(t, []heard{heardOn(0, ask, 0, 16*ms), heardOn(1, say, 10*time.Second, 9900*ms)})
	if got := s.Responses(); got.Uncertainty != 9900*ms || got.Median != 9936*ms || got.Max != 9936*ms {
		t.Errorf("%+v, want 9.936 s, give or take 9.9 s", got)
	}
}

// A request is unanswered when nothing was heard for longer than a reply could take,
// also where nothing is heard behind that.
func TestSilence(t *testing.T) {
	c := conversation{t: t}
	ask := request(frame.Polling(3), 1, "")
	c.say(ask, at(0, 64*time.Millisecond))
	var m exchange.Message
	for _, early := range []exchange.Span{untimed, at(time.Second, time.Second), {Known: true, Begin: 2 * time.Second, Late: time.Second}} {
		if c.tracker.Silence(early); c.tracker.Next(&m) {
			t.Errorf("told %s after %+v", verdict(&m), early)
		}
	}
	c.tracker.Silence(at(100*time.Second, 100*time.Second))
	if !c.tracker.Next(&m) || verdict(&m) != "2: no reply to 1" || m.Span.Begin != 100*time.Second || m.Waited.Time != 99936*time.Millisecond {
		t.Errorf("got %s, %+v, waited %v", verdict(&m), m.Span, m.Waited)
	}
	if c.tracker.Silence(at(200*time.Second, 200*time.Second)); c.tracker.Next(&m) {
		t.Errorf("told again: %s", verdict(&m))
	}
	c.say(ask, at(300*time.Second, 301*time.Second))
	c.tracker.Silence(at(200*time.Second, 200*time.Second))
	if c.tracker.End(); !c.tracker.Next(&m) || m.Span.Begin != 301*time.Second {
		t.Errorf("told at %v, want at the end of what was heard", m.Span.Begin)
	}
}
