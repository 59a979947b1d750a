package findings_test

import (
	"testing"
	"time"

	"looptone/frame"
	"looptone/frame/exchange/findings"
)

// lead is the most that a carrier may be on before the first start bit.
//
// Source: Allen-Bradley 1797-6.5.3, p.C-2 (5 bit times).
const lead = 5 * time.Second / 1200

// situations are what a request can stand behind. The limits are in characters.
//
// Source: FieldComm Group support article 8000040648 (timers); where they hold from
// memory.
var situations = []struct {
	name string
	say  func(c *conversation) // up to where the request is due
	by   bool                  // the request is the primary master's
	rule findings.Rule         // that is broken when it comes before
	from time.Duration         // this
}{
	{"its own request without a reply", func(c *conversation) { c.say(78*ms, 5, request(level, 1, "")) }, true, findings.TimeOut, chars(28)},
	{"its own request, a reply can not come any more", func(c *conversation) { c.say(78*ms, 5, request(level, 1, "")) }, true, findings.LinkQuiet, chars(33)},
	{"the secondary's own request", func(c *conversation) { c.say(400*ms, 5, secondary(request(level, 1, ""))) }, false, findings.LinkQuiet, chars(41)},
	{"the other's request", func(c *conversation) { c.say(5*ms, 5, secondary(request(level, 1, ""))) }, true, findings.LinkQuiet, chars(33)},
	{"the other's request, as the secondary", func(c *conversation) { c.say(78*ms, 5, request(level, 1, "")) }, false, findings.LinkQuiet, chars(41)},
	{"a reply to itself", func(*conversation) {}, true, findings.LinkGrant, chars(8)},
	{"a burst for the other", func(c *conversation) { c.say(400*ms, 5, burst()) }, true, findings.BurstTurn, chars(33)},
}

// At the limit the rule is kept, a microsecond before it is broken, or the rule of a
// shorter limit is. Lateness makes room for doubt on both sides.
func TestLimits(t *testing.T) {
	for _, s := range situations {
		for _, late := range []time.Duration{0, 5 * ms} {
			for _, tt := range []struct {
				gap  time.Duration
				want string
			}{
				{s.from + late, ""},
				{s.from - late - us, "broken"},
				{s.from + late - us, "in doubt"},
				{s.from - late, "in doubt"},
			} {
				want := tt.want
				if late == 0 && want == "in doubt" {
					continue // there is no room for it
				}
				c := converse(t, direct)
				c.late = late
				c.begin()
				s.say(c)
				f := request(level, 3, "")
				f.Primary = s.by
				c.say(tt.gap, 5, f)
				c.judge.End()
				finding := of(t, c.judge, s.by, s.rule)
				got := ""
				switch {
				case finding.Broken > 0:
					got = "broken"
				case finding.InDoubt > 0:
					got = "in doubt"
				}
				if got != want {
					t.Errorf("%v behind %s, late by %v: %v is %q, want %q: %+v", tt.gap, s.name, late, s.rule, got, want, finding)
				}
			}
		}
	}
}

// The same on the line's own grid of a sixth of a microsecond, whose moments are
// rounded to the nanosecond below.
func TestLimitsToTheTick(t *testing.T) {
	const character = 55000
	moment := func(tick int64) time.Duration { return time.Duration(tick * 1000 / 6) }
	for end := range int64(60) {
		for _, tt := range []struct {
			ticks  int64
			broken int64
		}{{28 * character, 0}, {28*character - 1, 1}} {
			c := converse(t, direct)
			c.begin()
			c.say(78*ms, 5, request(level, 1, ""))
			c.message.Span.End = moment(6_000_000 + end)
			c.judge.Add(&c.message) // once more, with its end on the grid
			c.end = 0
			c.say(moment(6_000_000+end+tt.ticks), 5, request(level, 1, ""))
			if f := of(t, c.judge, true, findings.TimeOut); f.Broken != tt.broken {
				t.Errorf("%d ticks behind tick %d: %d times broken, want %d", tt.ticks, end, f.Broken, tt.broken)
			}
		}
	}
}

// A turn lasts for hold, and the first start bit may come a carrier's lead later.
// Behind that the line must have been quiet.
func TestHold(t *testing.T) {
	other := func(c *conversation) {
		c.say(5*ms, 5, secondary(request(level, 1, "")))
		c.say(50*ms, 5, secondary(reply(level, 1, "2d 40 0d ac 08")))
	}
	fromBurst := func(c *conversation) { c.say(400*ms, 5, secondaryBurst()) }
	own := func(*conversation) {}
	for _, tt := range []struct {
		name string
		say  func(*conversation)
		gap  time.Duration
		want []string
	}{
		{"at once", other, 0, nil},
		{"in time", other, chars(2) + lead, nil},
		{"late by a microsecond", other, chars(2) + lead + us, []string{"broken hold 1"}},
		{"not yet quiet", other, chars(33) - us, []string{"broken hold 1"}},
		{"quiet", other, chars(33), nil},
		{"behind its own reply, in time", own, chars(10) + lead, nil},
		{"behind its own reply, late", own, chars(10) + lead + us, []string{"broken hold 1"}},
		{"behind its own reply, quiet", own, chars(33), nil},
		{"behind a burst at once", fromBurst, 0, nil},
		{"behind a burst, late", fromBurst, chars(2) + lead + us, []string{"broken hold 1"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := converse(t, direct)
			c.begin()
			tt.say(c)
			c.say(tt.gap, 5, request(level, 3, ""))
			c.wants(tt.want...)
		})
	}
}

func secondaryBurst() frame.Frame { return secondary(burst()) }

// On a line with a burst a reply gives nobody a turn; where none follows, nobody can
// tell why. When the line was silent for long, it has no burst any more.
func TestTurnsOnABurstingLine(t *testing.T) {
	c := converse(t, direct)
	c.begin()
	c.say(400*ms, 5, secondaryBurst())
	c.read(5 * ms)
	c.read(78 * ms)
	c.wants("in doubt hold 1")

	for gap, want := range map[time.Duration][]string{chars(43) - us: {"in doubt hold 1"}, chars(43): nil} {
		c = converse(t, direct)
		c.begin()
		c.say(400*ms, 5, secondaryBurst())
		c.read(5 * ms)
		c.read(gap)
		c.read(78 * ms)
		c.wants(want...)
	}
}

// Behind a modem up to 3 preambles may be lost, and the request began so much
// earlier than it was heard. Of 20 none is missing.
func TestTurnBehindAModem(t *testing.T) {
	modem := direct
	modem.Direct = false
	for _, tt := range []struct {
		gap       time.Duration
		preambles int
		want      []string
	}{
		{chars(8) - us, 5, []string{"broken link grant 1"}},
		{chars(11) - us, 5, []string{"in doubt link grant 1"}},
		{chars(11), 5, []string{"in doubt hold 1"}},
		{chars(13) + lead, 5, []string{"in doubt hold 1"}},
		{chars(13) + lead + us, 5, []string{"broken hold 1"}},
		{chars(36) - us, 5, []string{"in doubt hold 1"}},
		{chars(36), 5, nil},
		{chars(9) - us, 19, []string{"in doubt link grant 1"}},
		{chars(8), 20, nil},
		{chars(10) + lead + us, 20, []string{"broken hold 1"}},
	} {
		c := converse(t, modem)
		c.begin()
		c.say(tt.gap, tt.preambles, request(level, 3, ""))
		c.wants(tt.want...)
	}
}

// What could not be read here may be anything for the host.
func TestTurnBehindDamage(t *testing.T) {
	damaged := func(c *conversation) {
		wire, _ := (&frame.Frame{Kind: frame.ACK, Address: level, Primary: true, Command: 1}).AppendBinary(frame.AppendPreambles(nil, 5))
		wire[len(wire)-1] ^= 1
		c.sayRaw(50*ms, wire, nil)
	}
	for _, tt := range []struct {
		name  string
		asked bool
		times int
		gap   time.Duration
		want  []string
	}{
		{"quiet", true, 1, chars(33), nil},
		{"it may be the reply", true, 1, chars(8), []string{"in doubt link quiet 1"}},
		{"whatever it is", true, 1, chars(8) - us, []string{"broken link quiet 1"}},
		{"it may be the beginning of the request", true, 1, chars(1) - us, []string{"in doubt link quiet 1"}},
		{"whatever it is, twice", true, 2, chars(8) - us, []string{"broken link quiet 1"}},
		{"nobody asked", false, 1, chars(5), []string{"in doubt link quiet 1"}},
		{"nobody asked, twice", false, 2, chars(5), []string{"in doubt link quiet 1"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := converse(t, direct)
			c.begin()
			if tt.asked {
				c.say(78*ms, 5, request(level, 1, ""))
			}
			for range tt.times {
				damaged(c)
			}
			c.say(tt.gap, 5, request(level, 3, ""))
			c.wants(tt.want...)
		})
	}
}

// Behind a modem what could not be read may have been the first characters of the
// request.
func TestTurnBehindDamageAndAModem(t *testing.T) {
	modem := direct
	modem.Direct = false
	c := converse(t, modem)
	c.begin()
	c.say(400*ms, 20, request(level, 1, ""))
	wire, _ := (&frame.Frame{Kind: frame.ACK, Address: level, Primary: true, Command: 1}).AppendBinary(frame.AppendPreambles(nil, 5))
	wire[len(wire)-1] ^= 1
	c.sayRaw(50*ms, wire, nil)
	c.say(chars(5), 20, request(level, 3, ""))
	c.wants("in doubt link quiet 1")
}

// One or two characters at the edge of a carrier change nothing.
func TestStraysAreNobodysTurn(t *testing.T) {
	c := converse(t, direct)
	c.begin()
	end := c.end
	c.sayRaw(0, []byte{0x55}, []frame.MarkAt{{Pos: 1, Mark: frame.Cut}})
	c.silence()
	c.read(end + 78*ms - c.end)
	c.wants()
	if f := of(t, c.judge, true, findings.LinkGrant); f.Kept != 1 {
		t.Errorf("link grant %+v, want it kept once", f)
	}
}

// Over a pty a host may hand over a message at once: it began at some moment up to
// the last character's.
func TestAtOnce(t *testing.T) {
	pty := findings.Sight{AtOnce: true, Direct: true, Watched: true}
	length := frame.Characters(5 + 9)
	for _, tt := range []struct {
		gap  time.Duration // to where the request would have begun
		want []string
	}{
		{chars(8) - length - us, []string{"broken link grant 1"}},
		{chars(8) - length, []string{"in doubt link grant 1"}},
		{chars(8) - us, []string{"in doubt link grant 1"}},
		{chars(8), []string{"in doubt hold 1"}},
		{chars(10) + lead + us, []string{"broken hold 1"}},
		{chars(33) - length, []string{"in doubt hold 1"}},
		{chars(33), nil},
	} {
		c := converse(t, pty)
		c.begin()
		c.say(tt.gap, 5, request(level, 3, ""))
		c.judge.End()
		if got := found(c.judge); len(got) != len(tt.want) || len(got) > 0 && got[0] != tt.want[0] {
			t.Errorf("%v: found %q, want %q", tt.gap, got, tt.want)
		}
		if f := of(t, c.judge, true, findings.Gap); f.Verdict != findings.NotMeasurable || f.Hidden != "the times of single characters are not known" {
			t.Errorf("gap %+v, want it not measurable", f)
		}
	}
}

// When the first characters had come, the request had begun.
func TestCame(t *testing.T) {
	for _, tt := range []struct {
		gap, came time.Duration // came is behind the first start bit; 0: not known
		want      []string
	}{
		{chars(8) - us, 0, []string{"in doubt link grant 1"}},
		{chars(8), chars(1), nil},
		{chars(8), chars(8), []string{"in doubt hold 1"}},
		{chars(12), chars(13), []string{"broken hold 1"}},
		{chars(12), chars(24), []string{"broken hold 1"}}, // of something else
	} {
		pty := findings.Sight{AtOnce: true, Direct: true, Watched: true}
		c := converse(t, pty)
		c.begin()
		if tt.came > 0 {
			pty.Came = c.end + tt.gap + tt.came
		}
		c.judge.Look(pty)
		c.say(tt.gap, 5, request(level, 3, ""))
		c.wants(tt.want...)
	}
}

// Where the reply came late as well, the host may have waited longer than it seems.
func TestAtOnceBehindALateReply(t *testing.T) {
	length := frame.Characters(5 + 9)
	for gap, want := range map[time.Duration]string{chars(8) - length - 5*ms - us: "broken link grant 1", chars(8) - length - 5*ms: "in doubt link grant 1"} {
		c := converse(t, findings.Sight{AtOnce: true, Direct: true, Watched: true})
		c.late = 5 * ms
		c.begin()
		c.say(gap, 5, request(level, 3, ""))
		c.wants(want)
	}
}

// Of what was on the line before somebody listened nobody can tell.
func TestFirstRequest(t *testing.T) {
	for _, tt := range []struct {
		watched, parted bool
		at              time.Duration
		want            findings.Verdict
	}{
		{true, false, chars(33), findings.Kept},
		{true, false, chars(33) - us, findings.NotMeasurable},
		{false, false, time.Second, findings.NotMeasurable},
		{true, true, time.Second, findings.NotMeasurable},
	} {
		c := converse(t, findings.Sight{Watched: tt.watched})
		if tt.parted {
			c.judge.Part()
		}
		c.say(tt.at, 20, request(frame.Polling(3), 0, ""))
		if f := of(t, c.judge, true, findings.LinkQuiet); f.Verdict != tt.want {
			t.Errorf("%+v: %+v", tt, f)
		}
	}
}

// Two who talk at once are told apart only on streams of their own, heard directly.
func TestOverlap(t *testing.T) {
	apart := direct
	apart.Streams = 2
	for _, tt := range []struct {
		name   string
		sight  findings.Sight
		stream int
		gap    time.Duration
		want   findings.Verdict
	}{
		{"apart", apart, 1, 10 * ms, findings.Kept},
		{"apart, at once", apart, 1, 0, findings.Kept},
		{"over each other", apart, 1, -us, findings.Broken},
		{"on one stream", direct, 0, 10 * ms, findings.NotMeasurable},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := converse(t, tt.sight)
			c.begin()
			c.say(5*ms, 5, secondary(request(level, 1, "")))
			c.say(50*ms, 5, secondary(reply(level, 1, "2d 40 0d ac 08")))
			c.stream = tt.stream
			c.say(tt.gap, 5, request(level, 3, ""))
			if f := of(t, c.judge, true, findings.Overlap); f.Verdict != tt.want {
				t.Errorf("%+v, want %v", f, tt.want)
			}
			if f := of(t, c.judge, true, findings.SameMaster); f.Verdict != findings.NotMeasurable {
				t.Errorf("%+v, want it not measurable: two polite hosts look like one", f)
			}
		})
	}
	c := converse(t, apart)
	c.begin()
	c.say(78*ms, 5, request(level, 1, ""))
	c.stream = 1
	c.say(-us, 5, request(level, 3, ""))
	c.wants("broken same master 1")

	c = converse(t, apart) // one behind the other: it may be the same host or not
	c.begin()
	c.say(78*ms, 5, request(level, 1, ""))
	c.stream = 1
	c.say(10*ms, 5, request(level, 3, ""))
	c.wants("in doubt time-out 1")
}

// Where the hook-up names who talks, one that asks again behind another one with its
// master bit is not alone. One that was not heard of before may be the same, connected
// again.
func TestTwoHostsWithOneMasterBit(t *testing.T) {
	named := func(host string) findings.Sight {
		s := direct
		s.Talker = host
		return s
	}
	for _, tt := range []struct {
		hosts string
		want  []string
		kept  int64
	}{
		{"aaa", nil, 3},
		{"ab", []string{"in doubt same master 1"}, 1},
		{"abb", []string{"in doubt same master 1"}, 2},
		{"aba", []string{"broken same master 1", "in doubt same master 1"}, 1},
		{"abca", []string{"broken same master 1", "in doubt same master 2"}, 1},
		{"abab", []string{"broken same master 2", "in doubt same master 1"}, 1},
		{"abcdefghia", []string{"in doubt same master 9"}, 1}, // 8 are remembered
	} {
		c := converse(t, direct)
		for _, host := range tt.hosts {
			c.judge.Look(named("client " + string(host)))
			c.say(400*ms, 20, request(frame.Polling(3), 0, ""))
			c.say(50*ms, 5, reply(frame.Polling(3), 0, identity))
		}
		c.wants(tt.want...)
		f := of(t, c.judge, true, findings.SameMaster)
		if f.Kept != tt.kept || f.NotMeasurable != 0 {
			t.Errorf("%s: %+v, want %d kept and all to be seen", tt.hosts, f, tt.kept)
		}
		if want := "comes from client a, with the same master bit as client b"; f.Broken == 1 && tt.hosts == "aba" && f.Examples[0].Text != want {
			t.Errorf("%q, want %q", f.Examples[0].Text, want)
		}
	}

	c := converse(t, direct) // what another host asks is no asking again
	c.judge.Look(named("client a"))
	c.say(400*ms, 20, request(frame.Polling(3), 0, ""))
	c.judge.Look(named("client b"))
	c.say(100*ms, 20, request(frame.Polling(4), 0, ""))
	c.wants("in doubt time-out 1", "in doubt same master 1")
}

// Where carriers are seen, a host that talks into another one is found, in the
// message that both are in; one that was not told of kept silent.
func TestTalksOver(t *testing.T) {
	carriers := direct
	carriers.Carriers = true
	for _, tt := range []struct {
		surely bool
		want   string
		text   string
	}{
		{true, "broken overlap 1", "talks while something else is on the line"},
		{false, "in doubt overlap 1", "comes while something else is on the line, and may have begun before it"},
	} {
		c := converse(t, carriers)
		c.begin()
		c.read(78 * ms)
		over := c.end + 300*ms
		c.judge.TalksOver(true, over, tt.surely)
		c.say(5*ms, 5, secondary(request(level, 1, "")))              // which ends before that
		c.say(50*ms, 5, secondary(reply(level, 1, "2d 40 0d ac 08"))) // which ends behind it
		c.read(400 * ms)
		c.wants(tt.want)
		f := of(t, c.judge, true, findings.Overlap)
		e := append(f.Examples, f.Doubts...)[0]
		if f.Kept != 2 || e.Number != 6 || e.Text != tt.text {
			t.Errorf("%+v, want it kept twice, and %q in message 6", f, tt.text)
		}
	}
}
