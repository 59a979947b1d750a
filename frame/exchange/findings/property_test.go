package findings_test

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"looptone/frame"
	"looptone/frame/exchange/findings"
)

// A turn is a request of a good host: how long it waits at the least and at the most
// behind what stands in front of it, and which rule is broken when it comes before.
type turn struct {
	frame    frame.Frame
	answered bool
	from, to time.Duration
	early    findings.Rule
}

// turns are those of two hosts that keep every rule, from when the device is known.
func turns(t *rapid.T) (all []turn) {
	before := turn{frame: request(level, 0, ""), answered: true}
	for i := range rapid.IntRange(2, 30).Draw(t, "turns") {
		next := turn{frame: request(level, 1, ""), answered: rapid.IntRange(0, 3).Draw(t, "answered") > 0}
		next.frame.Data = []byte{byte(i)} // so that none repeats another
		next.frame.Primary = rapid.Bool().Draw(t, "primary")
		quiet := int64(41)
		if next.frame.Primary {
			quiet = 33
		}
		same := before.frame.Primary == next.frame.Primary
		next.from, next.to, next.early = chars(quiet), time.Second, findings.LinkQuiet
		switch {
		case !before.answered:
		case rapid.Bool().Draw(t, "lets its turn pass"):
			next.early = findings.Hold
		case same:
			next.from, next.to, next.early = chars(8), chars(10)+lead, findings.LinkGrant
		default:
			next.from, next.to, next.early = 0, chars(2)+lead, findings.Hold
		}
		all = append(all, next)
		before = next
	}
	return all
}

// play lets the hosts take their turns; turn i comes at gaps[i].
func play(t fataler, all []turn, gaps []time.Duration) *conversation {
	c := converse(t, direct)
	c.begin()
	for i := range all {
		f := all[i].frame
		c.say(gaps[i], 5, f)
		if all[i].answered {
			f.Kind, f.Data = frame.ACK, unhex("2d 40 0d ac 08")
			c.say(50*ms, 5, f)
		}
	}
	c.judge.End()
	return c
}

// Nothing is found of good hosts. Of one request that comes earlier than it may, one
// thing is found, and of the right host; what stands behind it moves along.
func TestOneEarlyRequestIsFoundOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := turns(t)
		gaps := make([]time.Duration, len(all))
		for i := range all {
			gaps[i] = time.Duration(rapid.Int64Range(int64(all[i].from), int64(all[i].to)).Draw(t, "gap"))
		}
		if got := found(play(t, all, gaps).judge); len(got) > 0 {
			t.Fatalf("found %q of good hosts", got)
		}
		i := rapid.IntRange(0, len(all)-1).Draw(t, "early")
		if all[i].from == 0 {
			return // it cannot come earlier
		}
		least := time.Duration(0)
		if all[i].early == findings.Hold { // within hold it is in time again
			least = chars(2) + lead + us
			if i == 0 || all[i-1].frame.Primary == all[i].frame.Primary {
				least = chars(10) + lead + us
			}
		}
		gaps[i] = time.Duration(rapid.Int64Range(int64(least), int64(all[i].from-us)).Draw(t, "instead"))
		c := play(t, all, gaps)
		want := all[i].early
		if early := i > 0 && !all[i-1].answered && all[i-1].frame.Primary == all[i].frame.Primary; early && gaps[i] < chars(28) {
			want = findings.TimeOut
		}
		if got := found(c.judge); !slices.Equal(got, []string{"broken " + want.String() + " 1"}) {
			t.Fatalf("found %q of turn %d at %v, want %v once", got, i, gaps[i], want)
		}
		for _, f := range c.judge.Findings() {
			if f.Broken > 0 && (f.Primary != all[i].frame.Primary || len(f.Examples) != 1) {
				t.Fatalf("%+v, want it of the other master", f)
			}
		}
	})
}
