package modemcheck

import (
	"time"

	"looptone/frame"
)

// A Stretch is a time, and what was sent in it.
type Stretch struct {
	From, To time.Time
	Sent     []Sent
}

// CompareEach compares as [Compare] does, everything at once, and gives the Way of each
// stretch. What was heard stands at the moments at which it was sent, as near as is known;
// what was not sent counts to the stretch that it is closest to. Stretches come in the order
// of time, and so does what was heard. Of carriers nothing is told.
func CompareEach(stretches []Stretch, heard []frame.Arrival, t Timing) []*Way {
	if len(stretches) == 0 {
		return nil
	}
	origin := stretches[0].From
	var sent []Sent
	for i := range stretches {
		sent = append(sent, stretches[i].Sent...)
	}
	all := comparison{sent: t.sentChars(sent, origin), heard: t.heardChars(heard, origin)}
	a := aligner{sent: all.sent, heard: all.heard, character: t.character(), lateness: t.Lateness}
	all.partners = a.alignPlaced()
	d := divider{comparison: all, stretches: stretches, origin: origin}
	d.divide()
	ways := make([]*Way, len(stretches))
	for i := range ways {
		ways[i] = d.way(i, t)
	}
	return ways
}

// A divider divides a comparison into stretches.
type divider struct {
	comparison
	stretches []Stretch
	origin    time.Time
	sentFrom  []int // of each stretch its first character sent, and behind the last one the number of all
	heardFrom []int // the same of those heard
}

func (d *divider) divide() {
	d.sentFrom, d.heardFrom = []int{0}, []int{0}
	for i := range d.stretches {
		at := d.sentFrom[i]
		for _, s := range d.stretches[i].Sent {
			at += len(s.Chars)
		}
		d.sentFrom = append(d.sentFrom, at)
	}
	at := 0
	for i := range d.stretches {
		at = d.endOf(i, at)
		d.heardFrom = append(d.heardFrom, at)
	}
}

// endOf is behind the last character heard of stretch i, whose first one is from.
func (d *divider) endOf(i, from int) int {
	if i == len(d.stretches)-1 {
		return len(d.heard)
	}
	to := max(from, d.lastPartner(d.sentFrom[i], d.sentFrom[i+1])+1)
	for next := d.firstPartner(d.sentFrom[i+1]); to < next && !d.isCloser(i, d.heard[to].at); to++ {
	}
	return to
}

// isCloser reports whether a moment is closer to a later stretch than to i.
func (d *divider) isCloser(i int, at time.Duration) bool {
	here := d.distance(i, at)
	for k := i + 1; k < len(d.stretches); k++ {
		if d.distance(k, at) < here {
			return true
		}
	}
	return false
}

func (d *divider) distance(i int, at time.Duration) time.Duration {
	from, to := d.stretches[i].From.Sub(d.origin), d.stretches[i].To.Sub(d.origin)
	return max(from-at, at-to, 0)
}

func (d *divider) lastPartner(from, to int) int {
	for i := to - 1; i >= from; i-- {
		if d.partners[i] >= 0 {
			return int(d.partners[i])
		}
	}
	return -1
}

// firstPartner is the first character heard that one from there on came as.
func (d *divider) firstPartner(from int) int {
	for _, j := range d.partners[from:] {
		if j >= 0 {
			return int(j)
		}
	}
	return len(d.heard)
}

// way is what a stretch came to.
func (d *divider) way(i int, t Timing) *Way {
	c := comparison{
		Way:      &Way{Timing: t},
		sent:     append([]sentChar(nil), d.sent[d.sentFrom[i]:d.sentFrom[i+1]]...),
		heard:    d.heard[d.heardFrom[i]:d.heardFrom[i+1]],
		partners: append([]int32(nil), d.partners[d.sentFrom[i]:d.sentFrom[i+1]]...),
	}
	messages := len(d.stretches[i].Sent)
	for k := range c.sent {
		c.sent[k].message -= d.firstMessage(i)
		if c.partners[k] >= 0 {
			c.partners[k] -= int32(d.heardFrom[i])
		}
	}
	c.count(messages)
	c.messages(messages)
	c.strays()
	return c.Way
}

func (d *divider) firstMessage(i int) (n int32) {
	for _, s := range d.stretches[:i] {
		n += int32(len(s.Sent))
	}
	return n
}
