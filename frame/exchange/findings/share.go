package findings

import (
	"slices"
	"time"

	"looptone/frame/exchange"
)

// mostTalkers is how many hosts with one master bit are remembered.
const mostTalkers = 8

// judgeTalker judges whether a host shares its master bit, where those who ask have
// names.
func (j *Judge) judgeTalker(h *host, m *exchange.Message) {
	name := j.sight.Talker
	if name == "" {
		return
	}
	i, last := slices.Index(h.talkers, name), len(h.talkers)-1
	switch {
	case i == last: // or the first one, where both are −1
		h.keep(SameMaster)
	case i < 0:
		h.doubt(SameMaster, whereOf(m), "comes from %s, with the same master bit as %s: it may be the same host, connected again", name, h.talkers[last])
	default:
		h.breach(SameMaster, whereOf(m), "comes from %s, with the same master bit as %s", name, h.talkers[last])
	}
	h.talks(i, name)
}

// talks makes the talker with index i, −1 for a new one, the last of those with the
// master bit of h.
func (h *host) talks(i int, name string) {
	switch {
	case i >= 0:
		h.talkers = slices.Delete(h.talkers, i, i+1)
	case len(h.talkers) == mostTalkers:
		h.talkers = slices.Delete(h.talkers, 0, 1)
	}
	h.talkers = append(h.talkers, name)
}

// hideSameMaster counts a request of which nobody can tell whether another host uses
// the master bit.
func (j *Judge) hideSameMaster(h *host, reason string) {
	if j.sight.Talker == "" {
		h.hide(SameMaster, reason)
	}
}

// talkingOver is a host that talks while somebody else does.
type talkingOver struct {
	host   *host // nil for none
	at     time.Duration
	surely bool
	in     int // number of the message that both are in, as soon as it is known
}

// TalksOver says that a master talks at a moment when somebody else does; not
// surely, where it may have begun before.
func (j *Judge) TalksOver(primary bool, at time.Duration, surely bool) {
	j.over = talkingOver{host: j.host(primary), at: at, surely: surely}
}

// judgeTalkingOver judges a host that talks while somebody else does, as soon as m
// is heard, which both are in.
func (j *Judge) judgeTalkingOver(m *exchange.Message) {
	o := &j.over
	if o.host == nil || o.in > 0 || m.Span.End < o.at {
		return
	}
	o.in = m.Number
	if o.surely {
		o.host.breach(Overlap, whereOf(m), "talks while something else is on the line")
	} else {
		o.host.doubt(Overlap, whereOf(m), "comes while something else is on the line, and may have begun before it")
	}
}

// keepSilence counts a request that nobody else was heard beside.
func (j *Judge) keepSilence(h *host, m *exchange.Message) {
	if o := &j.over; o.host != h || o.in != m.Number {
		h.keep(Overlap)
	}
}
