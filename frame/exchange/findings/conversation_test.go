package findings_test

import (
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/exchange/findings"
)

const (
	ms = time.Millisecond
	us = time.Microsecond
)

// chars is the time that n characters take: 11 bits at 1200 bit/s each.
func chars(n int64) time.Duration { return time.Duration(n * 11e9 / 1200) }

// direct is a hook-up that shows everything.
var direct = findings.Sight{Single: true, Parity: true, Direct: true, Watched: true, Streams: 1}

// level is the device that is asked, of revision 7, which wants 5 preambles.
var level = frame.Unique(0x3902, 0x67)

const identity = "fe f9 02 05 07 01 01 08 00 00 00 67 05 00 00 00 00 00 f9 00 f9 01"

// A conversation is a line that is judged while it goes on.
type conversation struct {
	t       fataler
	judge   *findings.Judge
	tracker exchange.Tracker
	decoder frame.Decoder
	event   frame.Event
	message exchange.Message
	wire    []byte
	stream  int
	untimed bool
	late    time.Duration // of all times
	pause   time.Duration // of the next message
	end     time.Duration // of what was said last
}

type fataler interface {
	Helper()
	Fatalf(string, ...any)
}

func converse(t fataler, s findings.Sight) *conversation {
	return &conversation{t: t, judge: findings.New(s)}
}

// say says a frame some time behind what was said before it.
func (c *conversation) say(gap time.Duration, preambles int, f frame.Frame) {
	c.t.Helper()
	var err error
	if c.wire, err = f.AppendBinary(frame.AppendPreambles(c.wire[:0], preambles)); err != nil {
		c.t.Fatalf("%v", err)
	}
	c.sayRaw(gap, c.wire, nil)
}

// sayRaw says characters, with marks in them.
func (c *conversation) sayRaw(gap time.Duration, wire []byte, marks []frame.MarkAt) {
	c.t.Helper()
	base := c.decoder.Pos()
	for i := range marks {
		marks[i].Pos += base
	}
	c.decoder.Feed(wire, marks)
	begin := c.end + gap
	for c.decoder.Next(&c.event) {
		ev := &c.event
		at := exchange.Span{Known: true, Late: c.late, Pause: c.pause}
		at.Begin = begin + frame.Characters(ev.Start-int64(ev.Preambles)-base)
		at.Start = begin + frame.Characters(ev.Start-base)
		at.End = begin + frame.Characters(ev.End-base)
		if c.end, c.pause = at.End, 0; c.untimed {
			at = exchange.Span{}
		}
		c.follow(at)
	}
}

func (c *conversation) follow(at exchange.Span) {
	for c.tracker.Follow(c.stream, &c.event, at); c.tracker.Next(&c.message); {
		c.judge.Add(&c.message)
	}
}

// silence cuts what was said.
func (c *conversation) silence() {
	c.decoder.End()
	c.sayRaw(0, nil, nil)
}

// begin has the primary master meet the device.
func (c *conversation) begin() {
	c.t.Helper()
	c.say(400*ms, 20, request(frame.Polling(3), 0, ""))
	c.say(50*ms, 5, reply(frame.Polling(3), 0, identity))
}

// read has the primary master read the primary variable.
func (c *conversation) read(gap time.Duration) {
	c.t.Helper()
	c.say(gap, 5, request(level, 1, ""))
	c.say(50*ms, 5, reply(level, 1, "2d 40 0d ac 08"))
}

func request(to frame.Address, command uint8, data string) frame.Frame {
	return frame.Frame{Kind: frame.STX, Address: to, Primary: true, Command: command, Data: unhex(data)}
}

func reply(from frame.Address, command uint8, data string) frame.Frame {
	return frame.Frame{Kind: frame.ACK, Address: from, Primary: true, Command: command, Data: unhex(data)}
}

func secondary(f frame.Frame) frame.Frame {
	f.Primary = false
	return f
}

func burst() frame.Frame {
	f := reply(level, 1, "2d 40 0d ac 08")
	f.Kind, f.Burst = frame.BACK, true
	return f
}

func unhex(s string) []byte {
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	if err != nil {
		panic(err)
	}
	return b
}

// found lists what is neither kept nor out of sight, and how often.
func found(j *findings.Judge) (list []string) {
	for _, f := range j.Findings() {
		if f.Broken > 0 {
			word := "broken"
			if f.Rule.Advice() {
				word = "advice"
			}
			list = append(list, fmt.Sprintf("%s %v %d", word, f.Rule, f.Broken))
		}
		if f.InDoubt > 0 {
			list = append(list, fmt.Sprintf("in doubt %v %d", f.Rule, f.InDoubt))
		}
	}
	return list
}

// wants compares what is found with what is wanted.
func (c *conversation) wants(want ...string) {
	c.t.Helper()
	c.judge.End()
	if got := found(c.judge); !slices.Equal(got, want) {
		c.t.Fatalf("found %q, want %q", got, want)
	}
}

// of is the finding of a rule and a master.
func of(t testing.TB, j *findings.Judge, primary bool, r findings.Rule) findings.Finding {
	t.Helper()
	for _, f := range j.Findings() {
		if f.Primary == primary && f.Rule == r {
			return f
		}
	}
	t.Fatalf("nothing is said of %v", r)
	return findings.Finding{}
}
