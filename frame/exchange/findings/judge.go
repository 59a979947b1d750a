package findings

import (
	"looptone/frame"
	"looptone/frame/exchange"
)

// A Judge follows a conversation message by message, in constant memory.
type Judge struct {
	sight    Sight
	hosts    [2]host // the secondary and the primary master
	before   before
	replaced before // what stood in its place, if that was damage
	bursting bool   // a burst was heard, and no long silence since
	damaged  damaged
	over     talkingOver
	wants    map[frame.Address]int // preambles, by the unique addresses of devices
}

// New is a judge of what is seen through s.
func New(s Sight) *Judge {
	j := &Judge{sight: s}
	j.hosts[1].primary = true
	j.before.watched = s.Watched
	return j
}

// Look says that what follows is seen in another way.
func (j *Judge) Look(s Sight) { j.sight = s }

// Add judges a message. The values of those that introduce a device must have been
// read: [exchange.Tracker.Unread] must not be set.
func (j *Judge) Add(m *exchange.Message) {
	if m.EchoOf > 0 || m.Unanswered > 0 {
		return
	}
	if m.AlsoHeard > 0 && !j.replaces(m) {
		return
	}
	j.settle(m)
	j.judgeTalkingOver(m)
	if m.IsStray() {
		return
	}
	j.endBursting(m)
	switch {
	case m.Outcome == frame.Damaged:
		j.addDamage(m)
	case m.Outcome == frame.Noise:
		j.addBare(m)
	case m.Outcome == frame.Whole && m.Frame.Kind == frame.STX:
		j.addRequest(m)
	case m.Outcome == frame.Whole:
		j.addReply(m)
	}
	j.pass(m)
}

// replaces takes back the damage that m was heard as on another stream. It is false
// for damage of what is known already.
func (j *Judge) replaces(m *exchange.Message) bool {
	if m.Outcome != frame.Whole {
		return false
	}
	if d := &j.damaged; d.host != nil && d.at.Number == m.AlsoHeard {
		d.host.requests--
		d.host = nil
	}
	if j.before.number == m.AlsoHeard {
		j.before = j.replaced
	}
	return true
}

// Part says that nobody listened for a while: what follows is another part of the
// conversation, at any time.
func (j *Judge) Part() {
	j.settle(nil)
	j.before, j.replaced, j.bursting = before{}, before{}, false
	for i := range j.hosts {
		j.hosts[i].endRetries()
	}
}

// End says that there is no more.
func (j *Judge) End() { j.Part() }

// Forget leaves a master out of what was found so far, for instance because it is
// no host outside. What was said on the line stays known.
func (j *Judge) Forget(primary bool) {
	h := j.host(primary)
	if j.damaged.host == h {
		j.damaged.host = nil
	}
	if j.over.host == h {
		j.over.host = nil
	}
	*h = host{primary: primary}
}

// host is the master that asks, or is answered.
func (j *Judge) host(primary bool) *host {
	if primary {
		return &j.hosts[1]
	}
	return &j.hosts[0]
}

// Requests is how many requests of a master were heard, damaged ones included.
func (j *Judge) Requests(primary bool) int64 { return j.host(primary).requests }

// Findings is what was found of each master of which requests were heard, the
// primary one first, rule by rule. It may be called at any moment.
func (j *Judge) Findings() (all []Finding) {
	for i := len(j.hosts) - 1; i >= 0; i-- {
		h := &j.hosts[i]
		if h.requests == 0 {
			continue
		}
		for r := range h.tallies {
			all = append(all, h.tallies[r].finding(h.primary, Rule(r)))
		}
	}
	return all
}

// Broken reports whether a rule was broken, advice left out.
func (j *Judge) Broken() bool {
	for i := range j.hosts {
		for r := range j.hosts[i].tallies {
			if j.hosts[i].tallies[r].verdict(Rule(r)) == Broken {
				return true
			}
		}
	}
	return false
}
