package exchange_test

import (
	"cmp"
	"fmt"
	"slices"
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

// verdict is what a message is in the conversation, in a few words.
func verdict(m *exchange.Message) string {
	switch {
	case m.EchoOf > 0:
		return fmt.Sprintf("echo of %d", m.EchoOf)
	case m.Unanswered > 0 && m.Damage > 0:
		return fmt.Sprintf("%d: no reply to %d but damage %d", m.Number, m.Unanswered, m.Damage)
	case m.Unanswered > 0:
		return fmt.Sprintf("%d: no reply to %d", m.Number, m.Unanswered)
	case m.Outcome != frame.Whole:
		return fmt.Sprintf("%d: %v", m.Number, m.Outcome)
	case m.RetryOf > 0:
		return fmt.Sprintf("%d: asks %d again", m.Number, m.RetryOf)
	case m.Frame.Kind == frame.STX:
		return fmt.Sprintf("%d: asks", m.Number)
	case m.Frame.Kind == frame.BACK:
		return fmt.Sprintf("%d: bursts", m.Number)
	case m.Unasked():
		return fmt.Sprintf("%d: unasked", m.Number)
	case m.RequestDamaged:
		return fmt.Sprintf("%d: answers damage %d", m.Number, m.ReplyTo)
	}
	return fmt.Sprintf("%d: answers %d", m.Number, m.ReplyTo)
}

// A heard is an event with its stream and time. A frame is sent as it is; an
// event without one is taken as damage or noise.
type heard struct {
	frame  frame.Frame
	damage frame.Field // where the frame is damaged; 0 for not
	noise  bool
	length int   // of noise; 0 for 1
	err    error // of damage and noise, nil for a parity error and plain noise
	stream int
	at     exchange.Span
}

// verdicts follows what is heard to the end of the input.
func verdicts(t testing.TB, all []heard) (said []string) {
	t.Helper()
	c := conversation{t: t}
	var m exchange.Message
	for _, h := range all {
		ev := h.event(t)
		c.tracker.Follow(h.stream, &ev, h.at)
		for c.tracker.Next(&m) {
			said = append(said, verdict(&m))
		}
	}
	for c.tracker.End(); c.tracker.Next(&m); {
		said = append(said, verdict(&m))
	}
	return said
}

// fataler is what tests of package testing and of rapid have in common.
type fataler interface {
	Helper()
	Fatal(...any)
}

// event is h as the decoder would deliver it.
func (h *heard) event(t fataler) frame.Event {
	t.Helper()
	if h.noise {
		ev := frame.Event{Outcome: frame.Noise, Raw: make([]byte, max(h.length, 1))}
		ev.End = int64(len(ev.Raw))
		if h.err != nil {
			ev.Err = &frame.FaultError{Field: frame.FieldDelimiter, Err: h.err}
		}
		return ev
	}
	raw, err := h.frame.AppendBinary(nil)
	if err != nil {
		t.Fatal(err)
	}
	f, err := frame.Parse(raw)
	if err != nil {
		t.Fatal(err)
	}
	ev := frame.Event{Outcome: frame.Whole, Frame: f, Raw: raw, End: int64(len(raw))}
	if h.damage > 0 {
		ev.Outcome = frame.Damaged
		ev.Frame.Data = f.Data[:len(f.Data)/2]
		if h.damage <= frame.FieldAddress {
			ev.Frame.Address, ev.Frame.Primary = frame.Address{}, false
		}
		ev.Err = &frame.FaultError{Field: h.damage, Err: cmp.Or(h.err, frame.ErrParity)}
	}
	return ev
}

func untimedFrames(frames []frame.Frame) (all []heard) {
	for _, f := range frames {
		all = append(all, heard{frame: f})
	}
	return all
}

func TestPairing(t *testing.T) {
	three, four := frame.Polling(3), frame.Polling(4)
	tag := "31 4b 71 c3 38 20"
	for _, tt := range []struct {
		name string
		said []frame.Frame
		want []string
	}{
		{"request and reply", []frame.Frame{request(three, 1, ""), reply(three, 1, "")}, []string{"1: asks", "2: answers 1"}},
		{"a reply that nobody asked for", []frame.Frame{reply(three, 1, "")}, []string{"1: unasked"}},
		{"to polling address 0 and command 0, which are zero values", []frame.Frame{reply(frame.Polling(0), 0, identity5)}, []string{"1: unasked"}},
		{"answered twice", []frame.Frame{request(three, 1, ""), reply(three, 1, ""), reply(three, 1, "")},
			[]string{"1: asks", "2: answers 1", "3: unasked"}},
		{"another address", []frame.Frame{request(three, 1, ""), reply(four, 1, ""), reply(three, 1, "")},
			[]string{"1: asks", "2: unasked", "3: answers 1"}},
		{"polling and unique address of one device", []frame.Frame{reply(three, 0, identity5), request(three, 1, ""), reply(device5, 1, "")},
			[]string{"1: unasked", "2: asks", "3: unasked", "4: no reply to 2"}},
		{"another command", []frame.Frame{request(three, 1, ""), reply(three, 2, ""), reply(three, 1, "")},
			[]string{"1: asks", "2: unasked", "3: answers 1"}},
		{"another master", []frame.Frame{request(three, 1, ""), secondary(reply(three, 1, ""))},
			[]string{"1: asks", "2: unasked", "3: no reply to 1"}},
		{"no reply, asked again", []frame.Frame{request(three, 1, ""), request(three, 1, ""), reply(three, 1, "")},
			[]string{"1: asks", "2: no reply to 1", "3: asks 1 again", "4: answers 3"}},
		{"asked three times", []frame.Frame{request(three, 1, ""), request(three, 1, ""), request(three, 1, "")},
			[]string{"1: asks", "2: no reply to 1", "3: asks 1 again", "4: no reply to 3", "5: asks 3 again", "6: no reply to 5"}},
		{"answered, then asked again: no retry", []frame.Frame{request(three, 1, ""), reply(three, 1, ""), request(three, 1, ""), reply(three, 1, "")},
			[]string{"1: asks", "2: answers 1", "3: asks", "4: answers 3"}},
		{"no reply, then another command", []frame.Frame{request(three, 1, ""), request(three, 2, ""), reply(three, 1, ""), reply(three, 2, "")},
			[]string{"1: asks", "2: no reply to 1", "3: asks", "4: unasked", "5: answers 3"}},
		{"no reply, then another address", []frame.Frame{request(three, 1, ""), request(four, 1, ""), reply(four, 1, "")},
			[]string{"1: asks", "2: no reply to 1", "3: asks", "4: answers 3"}},
		{"no reply, then other data", []frame.Frame{request(three, 6, "05"), request(three, 6, "06"), reply(three, 6, "06")},
			[]string{"1: asks", "2: no reply to 1", "3: asks", "4: answers 3"}},
		{"no reply, then the other master", []frame.Frame{request(three, 1, ""), secondary(request(three, 1, ""))},
			[]string{"1: asks", "2: asks", "3: no reply to 1", "4: no reply to 2"}},
		{"the secondary waits longer", []frame.Frame{secondary(request(three, 1, "")), request(three, 1, "")},
			[]string{"1: asks", "2: asks", "3: no reply to 1", "4: no reply to 2"}},
		{"two masters, one behind the other", []frame.Frame{request(three, 1, ""), reply(three, 1, ""),
			secondary(request(three, 1, "")), secondary(reply(three, 1, ""))},
			[]string{"1: asks", "2: answers 1", "3: asks", "4: answers 3"}},
		{"two masters, one into the other", []frame.Frame{request(three, 1, ""), secondary(request(three, 1, "")),
			secondary(reply(three, 1, "")), reply(three, 1, "")},
			[]string{"1: asks", "2: asks", "3: answers 2", "4: answers 1"}},
		{"a burst between", []frame.Frame{request(three, 1, ""), burst(reply(three, 1, "")), reply(three, 1, "")},
			[]string{"1: asks", "2: bursts", "3: answers 1"}},
		{"to all, answered by one", []frame.Frame{request(frame.Broadcast, 11, tag), reply(device5, 11, identity5)},
			[]string{"1: asks", "2: answers 1"}},
		{"to all, answered by a polling address", []frame.Frame{request(frame.Broadcast, 11, tag), reply(three, 11, identity5)},
			[]string{"1: asks", "2: unasked", "3: no reply to 1"}},
		{"to all, another command", []frame.Frame{request(frame.Broadcast, 11, tag), reply(device5, 0, identity5)},
			[]string{"1: asks", "2: unasked", "3: no reply to 1"}},
		{"an unknown command", []frame.Frame{request(three, 146, "01 42 48 00 00"), reply(three, 146, "01 42 48 00 00")},
			[]string{"1: asks", "2: answers 1"}},
		{"an extended command", []frame.Frame{request(three, 512, "05"), reply(three, 513, "05 07"), reply(three, 512, "05 07")},
			[]string{"1: asks", "2: unasked", "3: answers 1"}},
		{"an extended command that was heard with errors", []frame.Frame{request(three, 512, "05"), garbled(reply(three, 31, ""))},
			[]string{"1: asks", "2: answers 1"}},
		{"command 3, and 3 as an extended number", []frame.Frame{request(three, 3, ""), reply(three, 31, "00 03")},
			[]string{"1: asks", "2: unasked", "3: no reply to 1"}},
		{"heard with errors, asked again", []frame.Frame{request(three, 1, ""), garbled(reply(three, 1, "")), request(three, 1, ""), reply(three, 1, "")},
			[]string{"1: asks", "2: answers 1", "3: asks 1 again", "4: answers 3"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := verdicts(t, untimedFrames(tt.said)); !slices.Equal(got, tt.want) {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
		})
	}
}

// Damage may be a request that is answered all the same, or a reply that nobody
// could read; noise is neither, and breaks no pair.
func TestPairingWithDamage(t *testing.T) {
	three := frame.Polling(3)
	ask, say := heard{frame: request(three, 1, "")}, heard{frame: reply(three, 1, "")}
	damaged := func(h heard, f frame.Field) heard {
		h.damage = f
		return h
	}
	noise := heard{noise: true}
	for _, tt := range []struct {
		name string
		said []heard
		want []string
	}{
		{"noise between", []heard{ask, noise, say}, []string{"1: asks", "2: noise", "3: answers 1"}},
		{"damage between", []heard{ask, damaged(say, frame.FieldDelimiter), say}, []string{"1: asks", "2: damage", "3: answers 1"}},
		{"a damaged reply, asked again", []heard{ask, damaged(say, frame.FieldData), ask, say},
			[]string{"1: asks", "2: damage", "3: no reply to 1 but damage 2", "4: asks 1 again", "5: answers 4"}},
		{"a damaged reply at the end", []heard{ask, damaged(say, frame.FieldCheckByte)},
			[]string{"1: asks", "2: damage", "3: no reply to 1 but damage 2"}},
		{"a damaged request that is answered", []heard{damaged(ask, frame.FieldCheckByte), say}, []string{"1: damage", "2: answers damage 1"}},
		{"a damaged request, asked again", []heard{damaged(ask, frame.FieldByteCount), ask, say},
			[]string{"1: damage", "2: asks 1 again", "3: answers 2"}},
		{"a damaged request, asked again with all of its data", []heard{{frame: request(three, 6, "05 01"), damage: frame.FieldData},
			{frame: request(three, 6, "05 01")}}, []string{"1: damage", "2: asks 1 again", "3: no reply to 2"}},
		{"damage is forgotten with the reply behind it", []heard{ask, damaged(say, frame.FieldData), say, ask},
			[]string{"1: asks", "2: damage", "3: answers 1", "4: asks", "5: no reply to 4"}},
		{"damage while both masters wait may be for the later", []heard{ask, {frame: secondary(ask.frame)}, damaged(say, frame.FieldDelimiter)},
			[]string{"1: asks", "2: asks", "3: damage", "4: no reply to 1", "5: no reply to 2 but damage 3"}},
		{"and the other way round", []heard{{frame: secondary(ask.frame)}, ask, damaged(say, frame.FieldDelimiter)},
			[]string{"1: asks", "2: asks", "3: damage", "4: no reply to 1", "5: no reply to 2 but damage 3"}},
		{"a damaged request to another address", []heard{{frame: request(frame.Polling(4), 1, ""), damage: frame.FieldCheckByte}, ask, say},
			[]string{"1: damage", "2: asks", "3: answers 2"}},
		{"a request whose command is not read", []heard{damaged(ask, frame.FieldCommand), say}, []string{"1: damage", "2: unasked"}},
		{"behind it nobody waits for the one before", []heard{ask, damaged(ask, frame.FieldCommand), say},
			[]string{"1: asks", "2: no reply to 1", "3: damage", "4: unasked"}},
		{"a request of nobody knows which master", []heard{ask, damaged(ask, frame.FieldAddress), say},
			[]string{"1: asks", "2: damage", "3: answers 1"}},
		{"not even of the secondary", []heard{{frame: secondary(ask.frame)}, damaged(ask, frame.FieldAddress), {frame: secondary(say.frame)}},
			[]string{"1: asks", "2: damage", "3: answers 1"}},
		{"damage of nobody's", []heard{damaged(say, frame.FieldData), ask, say}, []string{"1: damage", "2: asks", "3: answers 2"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := verdicts(t, tt.said); !slices.Equal(got, tt.want) {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
		})
	}
}

// A reply may begin 28 characters behind its request, 256.7 ms, and a second
// later still where a capture gives seconds only. What is heard behind that says
// that nobody answered.
//
// Source: FieldComm Group support article 8000040648 (slave time-out).
func TestPairingByTime(t *testing.T) {
	const limit = 1256666 * time.Microsecond
	three := frame.Polling(3)
	ask := heard{frame: request(three, 1, ""), at: at(0, time.Second)}
	say := func(after time.Duration) heard {
		return heard{frame: reply(three, 1, ""), at: at(time.Second+after, time.Second+after+time.Millisecond)}
	}
	late := func(h heard, after time.Duration) heard {
		h.at = at(time.Second+after, time.Second+after)
		return h
	}
	for _, tt := range []struct {
		name string
		said []heard
		want []string
	}{
		{"in time", []heard{ask, say(limit - time.Microsecond)}, []string{"1: asks", "2: answers 1"}},
		{"too late", []heard{ask, say(limit + time.Microsecond)}, []string{"1: asks", "2: no reply to 1", "3: unasked"}},
		{"too late for a damaged request", []heard{{frame: ask.frame, at: ask.at, damage: frame.FieldCheckByte}, say(limit + time.Microsecond)},
			[]string{"1: damage", "2: unasked"}},
		{"a damaged request, asked again later", []heard{{frame: ask.frame, at: ask.at, damage: frame.FieldCheckByte},
			{frame: ask.frame, at: at(9*time.Second, 10*time.Second)}}, []string{"1: damage", "2: asks 1 again", "3: no reply to 2"}},
		{"at no known time", []heard{ask, {frame: reply(three, 1, "")}}, []string{"1: asks", "2: answers 1"}},
		{"the other master speaks later", []heard{ask, {frame: secondary(request(three, 2, "")), at: at(3*time.Second, 4*time.Second)}},
			[]string{"1: asks", "2: no reply to 1", "3: asks", "4: no reply to 3"}},
		{"noise later", []heard{ask, late(heard{noise: true}, 2*time.Second)}, []string{"1: asks", "2: no reply to 1", "3: noise"}},
		{"noise soon", []heard{ask, late(heard{noise: true}, time.Second), say(1100 * time.Millisecond)},
			[]string{"1: asks", "2: noise", "3: answers 1"}},
		{"both wait", []heard{{frame: secondary(request(three, 1, "")), at: at(0, time.Second)}, ask, late(heard{noise: true}, 2*time.Second)},
			[]string{"1: asks", "2: asks", "3: no reply to 1", "4: no reply to 2", "5: noise"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := verdicts(t, tt.said); !slices.Equal(got, tt.want) {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
		})
	}
}

// The news that nobody answered repeats the request, and stands where the wait
// ended.
func TestUnanswered(t *testing.T) {
	c := conversation{t: t}
	c.say(reply(frame.Polling(3), 0, identity5), untimed)
	asked := c.say(request(device5, 6, "05"), at(0, 100*time.Millisecond))
	retry := c.say(request(device5, 6, "05"), at(600*time.Millisecond, 700*time.Millisecond))
	if len(c.before) != 1 || retry.RetryOf != asked.Number {
		t.Fatalf("told %+v, want one in front of the retry of %d", c.before, asked.Number)
	}
	m := c.before[0]
	want := exchange.Elapsed{Known: true, Time: 500 * time.Millisecond}
	if m.Unanswered != asked.Number || m.Waited != want || m.Number != asked.Number+1 {
		t.Errorf("number %d, unanswered %d, waited %+v", m.Number, m.Unanswered, m.Waited)
	}
	if m.Device == nil || m.Definition == nil || m.Definition.Command != 6 || m.Outcome == frame.Whole {
		t.Errorf("device %v, definition %+v, outcome %v", m.Device, m.Definition, m.Outcome)
	}
	if where := retry.Start - int64(retry.Preambles); m.Start != where || m.End != where || m.Span.Begin != retry.Span.Begin {
		t.Errorf("stands at %d to %d at %v, want %d at %v", m.Start, m.End, m.Span.Begin, where, retry.Span.Begin)
	}
	c.tracker.End()
	var last exchange.Message
	if !c.tracker.Next(&last) || last.Unanswered != retry.Number || last.Start != retry.End || last.Waited.Time != 0 {
		t.Errorf("at the end: %+v", last)
	}
	f := &last.Frame
	if f.Kind != frame.STX || f.Address != device5 || !f.Primary || f.Command != 6 || len(f.Data) != 1 || f.Data[0] != 5 {
		t.Errorf("the request is %+v", f)
	}
	if c.tracker.Next(&last) {
		t.Errorf("and once more: %+v", last)
	}
}

// Nothing is told twice, and a conversation can go on behind the end of an input.
func TestMoreBehindTheEnd(t *testing.T) {
	c := conversation{t: t}
	c.say(request(frame.Polling(3), 1, ""), untimed)
	var m exchange.Message
	for range 2 {
		c.tracker.End()
		for c.tracker.Next(&m) {
			c.before = append(c.before, m)
		}
	}
	if len(c.before) != 1 {
		t.Fatalf("told %d times that nobody answered, want once", len(c.before))
	}
	if m := c.say(reply(frame.Polling(3), 1, ""), untimed); !m.Unasked() || m.Number != 3 {
		t.Errorf("a reply behind the end: %s", verdict(&m))
	}
}

// The response time runs from the end of the request to the first start bit of
// the reply, preambles included.
func TestResponseTime(t *testing.T) {
	c := conversation{t: t}
	c.say(request(frame.Polling(3), 1, ""), at(0, 100*time.Millisecond))
	span := at(152*time.Millisecond, 300*time.Millisecond)
	span.Start = 198 * time.Millisecond
	m := c.say(reply(frame.Polling(3), 1, ""), span)
	if want := (exchange.Elapsed{Known: true, Time: 52 * time.Millisecond}); m.Response != want {
		t.Errorf("response time %+v, want 52ms", m.Response)
	}
	if m.Span != span {
		t.Errorf("span %v, want that of the reply", m.Span)
	}
}

// Without both times, and where the reply seems to come first, no response time
// is known.
func TestResponseTimeWantsBothTimes(t *testing.T) {
	three, span := frame.Polling(3), at(time.Second, 2*time.Second)
	for _, tt := range []struct{ asked, answered exchange.Span }{{untimed, untimed}, {span, untimed}, {untimed, span}, {span, span}} {
		c := conversation{t: t}
		c.say(request(three, 1, ""), tt.asked)
		if m := c.say(reply(three, 1, ""), tt.answered); m.ReplyTo != 1 || m.Response.Known {
			t.Errorf("spans %v and %v: reply to %d after %v, want 1 and no time", tt.asked, tt.answered, m.ReplyTo, m.Response)
		}
	}
}

// Where a request was heard damaged it may have ended later than its damage did.
func TestResponseTimeOfADamagedRequest(t *testing.T) {
	all := []heard{
		{frame: request(frame.Polling(3), 1, ""), at: at(0, 100*time.Millisecond), damage: frame.FieldCheckByte},
		{frame: reply(frame.Polling(3), 1, ""), at: at(100*time.Millisecond, 300*time.Millisecond)},
	}
	s := counted(t, all)
	if s.Replies != 1 || s.Unasked != 0 || s.Responses().Count != 0 {
		t.Errorf("counted %+v and %d response times, want a reply to what was damaged, and no time", s.Counts, s.Responses().Count)
	}
}
