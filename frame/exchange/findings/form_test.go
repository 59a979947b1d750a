package findings_test

import (
	"slices"
	"testing"
	"time"

	"looptone/frame"
	"looptone/frame/exchange/findings"
)

// Behind a modem preambles may be missing, and damage may be the line's.
func TestWhatIsNotDirectIsInDoubt(t *testing.T) {
	modem := direct
	modem.Direct = false
	c := converse(t, modem)
	c.say(400*ms, 5, request(frame.Polling(3), 0, ""))
	c.say(50*ms, 5, reply(frame.Polling(3), 0, "fe f9 02 07"+identity[11:]))
	c.say(400*ms, 4, request(level, 1, ""))
	c.say(400*ms, 6, request(level, 1, ""))
	wire, _ := (&frame.Frame{Kind: frame.STX, Address: level, Primary: true, Command: 1}).AppendBinary(frame.AppendPreambles(nil, 7))
	wire[len(wire)-1] ^= 1
	c.sayRaw(400*ms, wire, nil)
	c.say(400*ms, 7, request(level, 1, ""))
	c.wants("in doubt preambles 1", "in doubt device preambles 1", "in doubt first preambles 1", "in doubt check byte 1")
}

// Without parity on the wire, nobody can tell whether it was right.
func TestParityThatIsNotSeen(t *testing.T) {
	blind := direct
	blind.Parity = false
	c := converse(t, blind)
	c.begin()
	if f := of(t, c.judge, true, findings.Parity); f.Verdict != findings.NotMeasurable || f.NotMeasurable != 1 {
		t.Errorf("%+v, want it not measurable once", f)
	}
}

// What a device asks for counts where it is more than usual, too.
func TestDevicePreambles(t *testing.T) {
	for _, tt := range []struct {
		wants string
		sent  int
		want  []string
	}{
		{"05", 5, nil}, {"07", 6, []string{"broken device preambles 1"}}, {"07", 7, nil}, {"07", 20, nil},
		{"07", 21, []string{"broken preambles 1"}}, {"07", 4, []string{"broken preambles 1"}},
		{"18", 24, nil}, {"18", 25, []string{"broken preambles 1"}}, {"02", 4, []string{"broken preambles 1"}}, {"02", 5, nil},
	} {
		c := converse(t, direct)
		c.say(400*ms, 20, request(frame.Polling(3), 0, ""))
		c.say(50*ms, 5, reply(frame.Polling(3), 0, "fe f9 02 "+tt.wants+identity[11:]))
		c.say(78*ms, tt.sent, request(level, 1, ""))
		if c.judge.End(); !slices.Equal(found(c.judge), tt.want) {
			t.Errorf("%d of %s: found %q, want %q", tt.sent, tt.wants, found(c.judge), tt.want)
		}
	}
}

// A request with fewer than two preambles is noise to every receiver, and one all
// the same for whoever looks at what the host has sent.
//
// Source: FieldComm Group support article 8000040648 (two FF before the delimiter).
func TestRequestThatNobodyHears(t *testing.T) {
	wire, _ := (&frame.Frame{Kind: frame.STX, Address: frame.Polling(3), Primary: true}).AppendBinary(nil)
	modem := direct
	modem.Direct = false
	for _, tt := range []struct {
		sight findings.Sight
		wire  []byte
		want  []string
		text  string
	}{
		{direct, wire, []string{"broken preambles 1"}, "has no preambles, want at least 5: nobody hears it as a request"},
		{direct, append([]byte{0xff}, wire...), []string{"broken preambles 1"}, "has 1 preamble, want at least 5: nobody hears it as a request"},
		{modem, append([]byte{0xff}, wire...), []string{"in doubt preambles 1"}, "1 preamble heard in front of a request, want at least 5: some may be lost on the way"},
		{direct, wire[:4], nil, ""},
		{direct, []byte{0xff, 0x55, 0x55}, nil, ""},
	} {
		c := converse(t, tt.sight)
		c.sayRaw(400*ms, tt.wire, nil)
		c.silence()
		c.wants(tt.want...)
		if n := c.judge.Requests(true); n != int64(len(tt.want)) {
			t.Errorf("% x: %d requests, want %d", tt.wire, n, len(tt.want))
		}
		if tt.text == "" {
			continue
		}
		f := of(t, c.judge, true, findings.Preambles)
		if all := append(f.Examples, f.Doubts...); len(all) != 1 || all[0].Text != tt.text {
			t.Errorf("% x: %+v, want %q", tt.wire, all, tt.text)
		}
	}
}

// A pause of a character is kept; what the times are late by makes room for doubt,
// or hides everything.
func TestGap(t *testing.T) {
	for _, tt := range []struct {
		pause, late time.Duration
		want        findings.Verdict
	}{
		{chars(1), 0, findings.Kept}, {chars(1) + us, 0, findings.Broken}, {0, chars(1) - us, findings.Kept},
		{chars(1) - ms, 2 * ms, findings.InDoubt}, {chars(1) + ms, 2 * ms, findings.InDoubt},
		{chars(1) - 2*ms, 2 * ms, findings.Kept}, {chars(1) + 2*ms + us, 2 * ms, findings.Broken},
		{0, chars(1) + us, findings.NotMeasurable}, {chars(4), chars(1) + us, findings.NotMeasurable},
	} {
		c := converse(t, direct)
		c.late, c.pause = tt.late, tt.pause
		c.say(400*ms, 20, request(frame.Polling(3), 0, ""))
		if f := of(t, c.judge, true, findings.Gap); f.Verdict != tt.want {
			t.Errorf("a pause of %v, late by %v: %+v, want %v", tt.pause, tt.late, f, tt.want)
		}
	}
}

// Marks on the characters of a request are what it was damaged by.
func TestDamagedRequests(t *testing.T) {
	for _, tt := range []struct {
		at   int64
		mark frame.Mark
		want string
	}{
		{11, frame.Parity, "broken parity 1"}, {11, frame.Framing, "broken parity 1"},
		{11, frame.Gap, "broken gap 1"}, {11, frame.Cut, "broken gap 1"}, {14, frame.Cut, "broken gap 1"},
	} {
		c := converse(t, direct)
		c.begin()
		ask := request(level, 6, "03 01")
		wire, _ := ask.AppendBinary(frame.AppendPreambles(nil, 5))
		c.sayRaw(78*ms, wire, []frame.MarkAt{{Pos: tt.at, Mark: tt.mark}})
		c.silence()
		c.read(400 * ms)
		c.wants(tt.want)
		if n := c.judge.Requests(true); n != 3 {
			t.Errorf("%v: %d requests, want 3", tt.mark, n)
		}
	}
}

// A request that breaks off with the capture breaks nothing.
func TestRequestAtTheEnd(t *testing.T) {
	c := converse(t, direct)
	c.begin()
	wire, _ := (&frame.Frame{Kind: frame.STX, Address: level, Primary: true, Command: 1}).AppendBinary(frame.AppendPreambles(nil, 5))
	c.sayRaw(78*ms, wire[:11], nil)
	c.silence()
	c.wants()
}

// A byte count that is wrong shows in what stands behind it, as long as the check
// byte is right; else it is the check byte that does not match.
func TestByteCount(t *testing.T) {
	frameOf := func(count byte, data string, flip byte) []byte {
		f := request(level, 6, data)
		wire, _ := f.AppendBinary(nil)
		wire[7] = count
		wire[len(wire)-1] = frame.CheckByte(wire[:len(wire)-1]) ^ flip
		return append(frame.AppendPreambles(nil, 5), wire...)
	}
	for _, tt := range []struct {
		name string
		wire []byte
		want string
	}{
		{"too small", frameOf(1, "03 01", 0), "broken byte count 1"},
		{"too small, FF behind it", frameOf(0, "ff ff 01", 0), "broken byte count 1"},
		{"too small, an odd run of FF behind it", frameOf(0, "ff ff ff ff 08", 0), "broken byte count 1"},
		{"too large", frameOf(4, "03 01", 0), "broken byte count 1"},
		{"too small, and a wrong check byte", frameOf(1, "03 01", 1), "broken check byte 1"},
		{"wrong check byte", frameOf(2, "03 01", 1), "broken check byte 1"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := converse(t, direct)
			c.begin()
			c.sayRaw(78*ms, tt.wire, []frame.MarkAt{{Pos: int64(len(tt.wire)), Mark: frame.Cut}})
			c.read(400 * ms)
			c.wants(tt.want)
		})
	}
}

// A short frame is right for command 0, and was for all commands before revision 5.
func TestShortFrame(t *testing.T) {
	c := converse(t, direct)
	c.begin()
	c.say(78*ms, 5, request(frame.Polling(3), 1, ""))
	c.say(310*ms, 5, request(frame.Polling(4), 1, ""))
	c.wants("broken short frame 2")
	f := of(t, c.judge, true, findings.ShortFrame)
	if want := "asks 3902000067 (3) for command 1, want its unique address"; f.Kept != 1 || f.Examples[0].Text != want {
		t.Errorf("%+v, want one kept, and %q", f, want)
	}
}

// What a device answers tells of the host: too few data, and a command that nobody
// knows. What a definition is known of is no unknown command.
func TestReplies(t *testing.T) {
	for _, tt := range []struct {
		command uint8
		code    frame.Response
		want    []string
	}{
		{1, 0, nil}, {6, 5, []string{"broken too few data 1"}}, {200, 64, []string{"broken unknown command 1"}},
		{48, 64, nil}, {200, 0, nil}, {200, 32, nil}, {200, frame.LongitudinalParity.Response(), nil},
	} {
		c := converse(t, direct)
		c.begin()
		c.say(78*ms, 5, request(level, tt.command, ""))
		f := reply(level, tt.command, "")
		f.Status.Response = tt.code
		c.say(50*ms, 5, f)
		if c.judge.End(); !slices.Equal(found(c.judge), tt.want) {
			t.Errorf("command %d, response %d: found %q, want %q", tt.command, tt.code, found(c.judge), tt.want)
		}
	}
}

// Before revision 5 short frames went with all commands.
func TestShortFrameOfAnOldDevice(t *testing.T) {
	c := converse(t, direct)
	c.say(400*ms, 20, request(frame.Polling(3), 0, ""))
	c.say(50*ms, 5, reply(frame.Polling(3), 0, "fe 39 02 05 04 01 01 08 00 00 00 67"))
	c.say(78*ms, 5, request(frame.Polling(3), 1, ""))
	c.wants()
	if f := of(t, c.judge, true, findings.ShortFrame); f.Kept != 1 {
		t.Errorf("%+v, want the first request kept, and the other one neither", f)
	}
}

func TestRetries(t *testing.T) {
	for again, want := range map[int][]string{0: nil, 1: nil, 3: nil, 4: {"advice retries 1"}, 9: {"advice retries 1"}} {
		c := converse(t, direct)
		c.begin()
		c.say(78*ms, 5, request(level, 1, ""))
		for range again {
			c.say(310*ms, 5, request(level, 1, ""))
		}
		c.say(310*ms, 5, request(level, 2, ""))
		if c.judge.End(); !slices.Equal(found(c.judge), want) {
			t.Errorf("again %d times: found %q, want %q", again, found(c.judge), want)
		}
		f := of(t, c.judge, true, findings.Retries)
		switch {
		case again == 0 && f.Verdict != findings.NotSeen:
			t.Errorf("asked once: %+v, want nothing", f)
		case again == 9 && f.Examples[0].Text != "asks again for the 9th time in a row, 3 are usual":
			t.Errorf("%q", f.Examples[0].Text)
		}
		if c.judge.Broken() {
			t.Error("an advice counts as broken")
		}
	}
}

// Damage that another stream heard whole is no damage.
func TestDamageThatAnotherStreamHeardWhole(t *testing.T) {
	two := direct
	two.Streams = 2
	c := converse(t, two)
	c.begin()
	ask := request(level, 1, "")
	wire, _ := ask.AppendBinary(frame.AppendPreambles(nil, 5))
	end := c.end
	whole := slices.Clone(wire)
	wire[len(wire)-1] ^= 1
	c.sayRaw(78*ms, wire, nil)
	c.stream = 1
	c.sayRaw(end+79*ms-c.end, whole, nil)
	c.say(50*ms, 5, reply(level, 1, "2d 40 0d ac 08"))
	c.wants()
	if n := c.judge.Requests(true); n != 2 {
		t.Errorf("%d requests, want 2", n)
	}
	if f := of(t, c.judge, true, findings.LinkGrant); f.Kept != 1 {
		t.Errorf("%+v, want it kept once", f)
	}
}

// However much is broken, so many examples are kept.
func TestExamplesAreFew(t *testing.T) {
	c := converse(t, direct)
	c.begin()
	for range 10 {
		c.say(310*ms, 4, request(level, 1, ""))
	}
	f := of(t, c.judge, true, findings.Preambles)
	if f.Broken != 10 || len(f.Examples) != findings.MostExamples || f.Examples[0].Number != 3 || f.Examples[1].Number != 5 {
		t.Errorf("%+v, want 10 broken, and the first %d as examples", f, findings.MostExamples)
	}
}

// Every rule says what it is and where it stands.
func TestRulesAreTold(t *testing.T) {
	c := converse(t, direct)
	c.begin()
	names := map[string]bool{}
	for _, f := range c.judge.Findings() {
		r := f.Rule
		if r.String() == "" || r.Says() == "" || r.Source() == "" || names[r.String()] {
			t.Errorf("rule %d: %q, %q, %q", r, r, r.Says(), r.Source())
		}
		names[r.String()] = true
	}
	if len(names) != 19 {
		t.Errorf("%d rules, want 19", len(names))
	}
}
