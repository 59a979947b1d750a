package main_test

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
)

// A breach is a rule that was broken on a line.
type breach struct {
	rule string
	at   int64
	text string
}

func (b breach) String() string {
	return fmt.Sprintf("%.6f s: %s: %s", float64(b.at)/ticksPerSecond, b.rule, b.text)
}

// A judge looks at the frames of a line, one after the other.
type judge struct {
	busy  bool  // masters always have something to ask: no turn passes unused
	slack int64 // by which hosts outside may be late or early; for them there is no carrier

	masters  map[bool]bool   // by master bit: who asks
	hosts    map[string]bool // outside: by name, the master bit that they ask with
	bursting map[string]bool // devices in burst mode

	before   *wireFrame
	ended    int64      // carrier off of what was before
	lastBack *wireFrame // of the bursting device
	breaches []breach
}

// judgeRecord is what a log shows to be broken.
func judgeRecord(rec *lineRecord, busy bool) []breach {
	j := &judge{busy: busy}
	j.all(rec)
	return j.breaches
}

// all looks at a whole log.
func (j *judge) all(rec *lineRecord) {
	j.masters, j.bursting = map[bool]bool{}, map[string]bool{}
	j.hosts = map[string]bool{}
	var frames []*wireFrame
	for i := range rec.carriers {
		c := &rec.carriers[i]
		j.carrier(c)
		f, err := frameOf(c)
		if err != nil {
			j.broken("frame", c.On, "%s: %v", c.Talker, err)
			f = &wireFrame{carrier: c, ended: c.On}
			for _, ch := range c.Characters {
				f.ended = ch.end
			}
		}
		frames = append(frames, f)
		switch f.frameType {
		case fromMaster:
			j.masters[f.primary] = true
		case fromBurst:
			j.bursting[f.Talker] = true
		}
	}
	for _, f := range frames {
		j.frame(f)
	}
}

func (j *judge) broken(rule string, at int64, format string, args ...any) {
	j.breaches = append(j.breaches, breach{rule, at, fmt.Sprintf(format, args...)})
}

// within wants a number between two.
func (j *judge) within(rule string, at, got, least, most int64, what string) {
	if got < least || got > most {
		j.broken(rule, at, "%s is %d, want %d to %d", what, got, least, most)
	}
}

// carrier looks at how something is sent.
func (j *judge) carrier(c *carrier) {
	if c.On < j.ended-j.slack {
		j.broken("overlap", c.On, "%s begins %d ticks before the other carrier is off", c.Talker, j.ended-c.On)
	}
	j.ended = max(j.ended, c.Off)
	if len(c.Characters) == 0 {
		j.broken("frame", c.On, "%s sends a carrier without characters", c.Talker)
		return
	}
	if isOutside(c) {
		return
	}
	last := c.Characters[0].start
	j.within("carrier", c.On, last-c.On, 0, carrierEdge, "the lead of "+c.Talker)
	for i, ch := range c.Characters {
		if ch.start != last || ch.end != ch.start+characterTicks || ch.marks != "" {
			j.broken("contiguous", c.On, "character %d of %s is %+v behind %d", i, c.Talker, ch, last)
		}
		last = ch.end
	}
	j.within("carrier", c.On, c.Off-last, 0, carrierEdge, "the tail of "+c.Talker)
}

// isOutside reports whether a host outside sends it, of which there is no carrier.
func isOutside(c *carrier) bool { return strings.HasPrefix(c.Talker, "client ") }

func (j *judge) frame(f *wireFrame) {
	defer func() { j.before = f }()
	if f.frameType == unreadable {
		return
	}
	j.within("preambles", f.On, int64(f.preambles), fewestPreambles, mostPreambles, "the number of preambles of "+f.Talker)
	if f.frameType != fromMaster && f.burst != j.bursting[f.Talker] {
		j.broken("burst bit", f.On, "%s has the burst bit %v", f.Talker, f.burst)
	}
	if j.before != nil && j.before.frameType == fromSlave && len(j.bursting) > 0 && f.frameType != fromBurst {
		j.broken("burst", f.On, "behind a reply comes %s, want a burst", f.Talker)
	}
	switch f.frameType {
	case fromMaster:
		j.request(f)
	case fromSlave:
		j.reply(f)
	case fromBurst:
		j.burst(f)
		j.lastBack = f
	}
}

// request looks at whether a master had the turn.
func (j *judge) request(f *wireFrame) {
	want := map[bool]string{true: "primary master", false: "secondary master"}[f.primary]
	switch had, known := j.hosts[f.Talker]; {
	case !isOutside(f.carrier) && f.Talker != want, known && had != f.primary:
		j.broken("master bit", f.On, "%s sends with the bit of the %s", f.Talker, want)
	}
	j.hosts[f.Talker] = f.primary
	if f.burst {
		j.broken("burst bit", f.On, "%s asks with the burst bit", f.Talker)
	}
	turns := j.turns(f.primary)
	if !slices.ContainsFunc(turns, func(t turn) bool { return t.from-j.slack <= f.On && f.On-j.slack <= t.until }) {
		j.broken("turn", f.On, "%s begins %d ticks behind %v, want one of %v", f.Talker, f.On-j.since(), j.before, turns)
	}
	if !j.busy {
		return
	}
	for primary := range j.masters {
		if first := j.first(primary); first < f.On || first == f.On && primary && !f.primary {
			j.broken("turn", f.On, "the master with bit %v did not take its turn at %d", primary, first)
		}
	}
}

// A turn is a time in which a master may begin.
type turn struct{ from, until int64 }

func (t turn) String() string {
	if t.until == math.MaxInt64 {
		return fmt.Sprintf("%d or later", t.from)
	}
	return fmt.Sprintf("%d to %d", t.from, t.until)
}

// since is where the timers stand at 0: the end of the check byte before.
func (j *judge) since() int64 {
	if j.before == nil {
		return 0
	}
	return j.before.ended
}

// turns are those that a master has behind what was before. On a line with a
// bursting device, which restores the order first, it waits two characters more.
func (j *judge) turns(primary bool) []turn {
	quiet := int64(quietOfSecondary)
	if primary {
		quiet = quietOfPrimary
	}
	if j.lastBack != nil {
		quiet += useTurnWithin
	}
	from := j.since()
	ever := int64(math.MaxInt64)
	granted := func(from int64) []turn {
		return []turn{{from, max(from, j.before.Off) + useTurnWithin}, {j.since() + quiet, ever}}
	}
	switch b := j.before; {
	case b == nil || b.frameType == fromMaster || b.frameType == unreadable:
		return []turn{{from + quiet, ever}}
	case b.frameType == fromBurst && b.primary == primary, b.frameType == fromSlave && j.lastBack != nil:
		return []turn{{from + quiet, ever}}
	case b.frameType == fromSlave && b.primary == primary:
		return granted(from + leaveToOther)
	default:
		return granted(from)
	}
}

// first is when a master that wants to ask begins.
func (j *judge) first(primary bool) int64 {
	if j.before == nil {
		return j.turns(primary)[0].from
	}
	return max(j.turns(primary)[0].from, j.before.Off)
}

// reply looks at whether somebody was asked, and how long ago.
func (j *judge) reply(f *wireFrame) {
	asked := j.before
	if asked == nil || asked.frameType != fromMaster {
		j.broken("reply", f.On, "%s replies, and nobody has asked", f.Talker)
		return
	}
	address := slices.Clone(f.address)
	address[0] &^= 0x40
	if wanted := asked.address; !bytes.Equal(address, wanted) && !isBroadcast(wanted) || f.command != asked.command || f.primary != asked.primary {
		j.broken("reply", f.On, "%s replies with address % x and command %d to address % x and command %d",
			f.Talker, address, f.command, asked.address, asked.command)
	}
	j.within("slave time-out", f.On, f.began-asked.ended, 0, replyWithin, "the response time of "+f.Talker)
}

func isBroadcast(address []byte) bool {
	return len(address) == 5 && address[0]&0x3f == 0 && bytes.Equal(address[1:], make([]byte, 4))
}

// burst looks at what a bursting device sends without being asked.
func (j *judge) burst(f *wireFrame) {
	if !f.long() {
		j.broken("burst", f.On, "%s bursts with a polling address", f.Talker)
	}
	if j.lastBack != nil && j.lastBack.primary == f.primary {
		j.broken("master bit", f.On, "two bursts of %s behind each other have master bit %v", f.Talker, f.primary)
	}
	switch b := j.before; {
	case b == nil:
	case b.frameType == fromSlave:
		j.within("burst", f.On, f.On-b.Off, 0, 0, "from the carrier of a reply to that of the burst")
	case b.frameType == fromBurst:
		j.within("burst", f.On, f.began-b.ended, leaveToOther, leaveToOther, "the time between bursts")
	default:
		j.within("burst", f.On, f.began-b.ended, recoveryOfBurst, recoveryOfBurst, "the time from a request without reply to the burst")
	}
}
