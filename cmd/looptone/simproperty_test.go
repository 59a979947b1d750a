package main

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"looptone/sim"
	"looptone/sim/fault"
	"looptone/sim/linefile"
	"looptone/sim/master"
)

// A lottery draws lines.
type lottery struct {
	*rand.Rand
	text strings.Builder
	tags []string
}

func (l *lottery) chance(p float64) bool { return l.Float64() < p }

func (l *lottery) say(format string, args ...any) { fmt.Fprintf(&l.text, format+"\n", args...) }

// drawLine is the description of a line with devices, masters, faults and timed
// actions, all by chance.
func drawLine(seed uint64) string {
	l := &lottery{Rand: rand.New(rand.NewPCG(seed, 8))}
	l.say("[line]\nname = \"chance %d\"\nseed = %d\ngrid_ms = 1000", seed, l.IntN(1000))
	for i := range 1 + l.IntN(5) {
		l.device(i + 1)
	}
	switch l.IntN(5) {
	case 0:
		l.master("primary")
	case 1:
		l.master("secondary")
	case 2, 3:
		l.master("primary")
		l.master("secondary")
	}
	kinds := fault.Kinds()
	for range l.IntN(5) {
		l.fault("[[fault]]", 0, &kinds[l.IntN(len(kinds))])
	}
	for range l.IntN(3) {
		l.action(kinds)
	}
	return l.text.String()
}

func (l *lottery) device(polling int) {
	tag := fmt.Sprintf("D-%d", polling)
	l.tags = append(l.tags, tag)
	revision := 5 + l.IntN(3)
	l.say("[[device]]\ntag = %q\npolling = %d\nrevision = %d\nlatency_ms = %d", tag, polling, revision, 5+l.IntN(250))
	l.say("preambles = %d\nreply_preambles = %d\namplitude_v = %.2f", 5+l.IntN(16), 5+l.IntN(16), 0.2+l.Float64())
	l.say("kind = \"pressure\"\nsensor = { lower = 0.0, upper = 10.0, unit = \"bar\" }")
	l.say("process = { model = \"constant\", value = %.1f }", 10*l.Float64())
	for i := range 3 {
		if l.chance(0.15) && (i == 0 || revision == 7) {
			l.say("[[device.burst]]\ncommand = %d\nevery = \"%ds\"", 1+l.IntN(3), 1<<l.IntN(4))
			if l.chance(0.5) {
				break
			}
		}
	}
}

func (l *lottery) master(kind string) {
	l.say("[[master]]\nkind = %q\nretries = %d", kind, l.IntN(4))
	var queries []string
	for range l.IntN(4) {
		every := ""
		if l.chance(0.3) {
			every = fmt.Sprintf(", every = \"%.1fs\"", 2+5*l.Float64())
		}
		queries = append(queries, fmt.Sprintf("{ device = %q, command = %d%s }", l.tag(), 1+l.IntN(3), every))
	}
	if len(queries) > 0 {
		l.say("poll = [ %s ]", strings.Join(queries, ", "))
	}
}

func (l *lottery) tag() string { return l.tags[l.IntN(len(l.tags))] }

// fault draws a fault of a kind that begins after some seconds or later.
func (l *lottery) fault(heading string, after int, k *fault.Kind) {
	if k.Other != "" && len(l.tags) < 2 {
		return
	}
	tag, other := l.tag(), l.tag()
	for tag == other && k.Other != "" {
		other = l.tag()
	}
	l.say("%s\nkind = %q", heading, k.Name)
	switch {
	case k.Strikes == "device", k.Strikes == "talker" && l.chance(0.4):
		l.say("device = %q", tag)
	case k.Strikes == "talker" && l.chance(0.6):
		l.say("talker = %q", []string{"primary master", "secondary master"}[l.IntN(2)])
	}
	if k.Other != "" {
		l.say("%s = %q", k.OtherKey, other)
	}
	if from := after + l.IntN(20); l.chance(0.3) {
		l.say("from = \"%ds\"\nuntil = \"%ds\"", from, from+1+l.IntN(20))
	}
	if !k.Lasts {
		l.say("probability = %.2f", l.Float64())
		if l.chance(0.3) {
			l.say("count = %d", 1+l.IntN(5))
		}
	}
	for i := range k.Settings {
		if s := &k.Settings[i]; s.Needed || l.chance(0.5) {
			l.say("%s = %v", s.Name, l.setting(s))
		}
	}
}

// setting draws a number within the range of a setting: near its lower end as often
// as near its upper.
func (l *lottery) setting(s *fault.Setting) float64 {
	v := s.Least + (s.Most-s.Least)*math.Pow(l.Float64(), 4)
	if s.Whole {
		v = math.Round(v)
	}
	if s.NotZero && v == 0 {
		v = s.Most
	}
	return v
}

func (l *lottery) action(kinds []fault.Kind) {
	time := 1 + l.IntN(30)
	l.say("[[at]]\ntime = \"%ds\"", time)
	switch l.IntN(5) {
	case 0:
		l.say("mute = %q", l.tag())
	case 1:
		l.say("unmute = %q", l.tag())
	case 2:
		l.say("set = \"%s.damping_s\"\nto = %d.5", l.tag(), l.IntN(5))
	case 3:
		l.say("set = \"%s.process.value\"\nto = %d.0", l.tag(), l.IntN(10))
	case 4:
		l.say("[at.fault]")
		k := &kinds[l.IntN(len(kinds))]
		for k.Other != "" {
			k = &kinds[l.IntN(len(kinds))]
		}
		l.fault("", time, k)
	}
}

// TestNoiseOnAnyLine draws lines with faults, and wants of each that it does not
// come to rest without a reason, that every request ends in one way, that all
// characters are somebody's, and that a seed makes the same log twice.
func TestNoiseOnAnyLine(t *testing.T) {
	const span = 40 * sim.Second
	runs := 200
	if inCI() {
		runs = 1000
	}
	var characters int
	for seed := range uint64(runs) {
		text := drawLine(seed)
		first, again := runDrawn(t, text, span), runDrawn(t, text, span)
		if t.Failed() {
			t.Fatalf("seed %d:\n%s", seed, text)
		}
		if !bytes.Equal(first.log, again.log) {
			t.Fatalf("seed %d: two runs differ:\n%s", seed, text)
		}
		characters += first.characters
	}
	t.Logf("%d lines, %d characters", runs, characters)
}

// A drawnRun is what came of a line.
type drawnRun struct {
	log        []byte
	characters int
}

func runDrawn(t *testing.T, text string, span sim.Tick) drawnRun {
	t.Helper()
	d, err := linefile.Parse("line.toml", []byte(text), nil)
	if err != nil {
		t.Errorf("refused: %v", err)
		return drawnRun{}
	}
	a, err := d.Assemble(nil, nil)
	if err != nil {
		t.Error(err)
		return drawnRun{}
	}
	defer a.Close()
	var out bytes.Buffer
	log := newLineLog(&out, a.Name, d.Seed)
	characters, last := map[*sim.Seat]int{}, sim.Tick(0)
	a.Line.Log(func(talker *sim.Seat, b *sim.Burst) {
		log.carrier(talker, b)
		characters[talker] += len(b.Chars)
		last = max(last, b.Off())
	})
	if err := runTo(t.Context(), a, nil, span, bufio.NewWriter(io.Discard)); err != nil {
		t.Error(err)
	}
	log.end(a.Line.Now())
	checkSeats(t, a, characters)
	for i := range a.Masters {
		checkTallies(t, a.Masters[i].Poll.Tallies())
		checkGoesOn(t, &a.Masters[i], a.Line, last)
	}
	sum := 0
	for _, n := range characters {
		sum += n
	}
	return drawnRun{out.Bytes(), sum}
}

// checkSeats compares the characters in the log with those that stations have sent.
func checkSeats(t *testing.T, a *linefile.Assembly, characters map[*sim.Seat]int) {
	t.Helper()
	seats := slices.Clone(a.Seats)
	for _, h := range a.Masters {
		seats = append(seats, h.Seat)
	}
	for _, s := range seats {
		if int(s.Sent()) != characters[s] {
			t.Errorf("%s has sent %d characters, %d are in the log", s.Name, s.Sent(), characters[s])
		}
		delete(characters, s)
	}
	for s := range characters { // what faults have put on the line
		if s.Name == "" || s.Outside() {
			t.Errorf("a station %q is on the line", s.Name)
		}
	}
	for _, s := range seats {
		characters[s] = int(s.Sent())
	}
}

// checkTallies wants each request counted once, in each query, in its device and in
// all.
func checkTallies(t *testing.T, tallies []master.Tally) {
	t.Helper()
	ended := func(c *master.Tally) int64 { return c.Answered + c.Damaged + c.Silent + c.Busy }
	var commands, devices master.Tally
	add := func(to, c *master.Tally) {
		to.Asked, to.Answered, to.Damaged = to.Asked+c.Asked, to.Answered+c.Answered, to.Damaged+c.Damaged
		to.Silent, to.Busy, to.Retries = to.Silent+c.Silent, to.Busy+c.Busy, to.Retries+c.Retries
	}
	same := func(a, b *master.Tally) bool {
		return a.Asked == b.Asked && a.Answered == b.Answered && a.Damaged == b.Damaged && a.Silent == b.Silent && a.Busy == b.Busy && a.Retries == b.Retries
	}
	underWay := int64(0)
	for i := range tallies {
		c := &tallies[i]
		left := c.Asked - ended(c)
		if left < 0 || left > 1 {
			t.Errorf("%+v: %d asked and %d ended", *c, c.Asked, ended(c))
		}
		switch {
		case c.Command >= 0:
			underWay += left
			add(&commands, c)
		case c.Name != "":
			if !same(&commands, c) {
				t.Errorf("%s has %+v, its commands %+v", c.Name, *c, commands)
			}
			add(&devices, c)
			commands = master.Tally{}
		default:
			if !same(&devices, c) {
				t.Errorf("all are %+v, the devices %+v", *c, devices)
			}
		}
	}
	if underWay > 1 {
		t.Errorf("%d requests are under way", underWay)
	}
}

// checkGoesOn wants a master that asks as often as it can to have said something
// lately, unless it has given up beside another one of its kind.
func checkGoesOn(t *testing.T, h *linefile.Host, line *sim.Line, last sim.Tick) {
	t.Helper()
	switch {
	case h.Master.Err() != nil && !h.Master.Done():
		t.Errorf("%s goes on behind %v", h.Seat.Name, h.Master.Err())
	case h.Master.Done():
		if h.Master.Err() == nil {
			t.Errorf("%s has come to an end", h.Seat.Name)
		}
		return
	case line.Next() == sim.Never:
		t.Errorf("the line rests, and %s is there", h.Seat.Name)
	}
	const longest = (41 + 2 + 2 + 28) * sim.Character // link quiet, hold twice, slave time-out
	unhurried := slices.ContainsFunc(h.Poll.Queries, func(q master.Query) bool { return q.Every > 0 })
	if idle := line.Now() - last; idle > longest && !unhurried {
		t.Errorf("nobody has talked for %v, and %s is there", idle.Duration(), h.Seat.Name)
	}
}
