package findings

import "looptone/frame/exchange"

// Timers of the data link, in characters.
//
// Source: FieldComm Group support article 8000040648.
const (
	slaveTimeOut = 28
	linkGrant    = 8
	hold         = 2
)

const (
	noTimes    = "no times are known"
	noBefore   = "what was on the line before is not known"
	oneStream  = "those who talk at once are told apart only where each is heard directly, on a stream of its own"
	sameMaster = "two hosts with one master bit look like one, unless they talk at once"
	burstDue   = "a burst was due behind the reply"
)

// judgeTurn judges whether it was the host's turn to ask. A request that comes too
// early or too late breaks one rule.
func (j *Judge) judgeTurn(h *host, m *exchange.Message) {
	b := &j.before
	if b.what == nothing {
		j.judgeFirst(h, m)
		return
	}
	own := b.primary == h.primary
	if !b.timed || !m.Span.Known {
		for _, r := range concerned(b.what, own) {
			h.hide(r, noTimes)
		}
		h.hide(Overlap, noTimes)
		j.hideSameMaster(h, noTimes)
		return
	}
	w := j.sight.since(b.end, b.late, m)
	if !j.judgeOverlap(h, m, w) {
		return
	}
	at := whereOf(m)
	switch {
	case b.what == request && own && (b.stream != m.Stream || b.talker != j.sight.Talker || b.several) && w.below(slaveTimeOut):
		h.doubt(TimeOut, at, "begins %s after a request that may be another host's", w.doubtful())
	case b.what == request && own:
		h.judgeTimeOut(at, w)
	case b.what == request:
		h.judgeQuiet(at, w, LinkQuiet, "the other master's request")
	case b.what == unreadable:
		j.judgeUnreadable(h, at, w, b.asked && own)
	case b.what == burst && own:
		h.judgeQuiet(at, w, BurstTurn, "a burst that gives the turn to the other master")
	case b.what == burst:
		if h.judgeGranted(at, w, 0, "a burst") {
			h.keep(BurstTurn)
		}
	case j.bursting && !w.above(h.quiet()):
		h.doubt(Hold, at, "begins %s behind a reply: %s", w.doubtful(), burstDue)
	case own:
		h.judgeGranted(at, w, linkGrant, "the reply to it")
	default:
		h.judgeGranted(at, w, 0, "the reply to the other master")
	}
}

// concerned are the rules that a turn behind something is judged by.
func concerned(w what, own bool) []Rule {
	switch {
	case w == request && own:
		return []Rule{TimeOut, LinkQuiet}
	case w == reply && own:
		return []Rule{LinkGrant, Hold}
	case w == reply:
		return []Rule{Hold}
	case w == burst:
		return []Rule{BurstTurn, Hold}
	}
	return []Rule{LinkQuiet}
}

// judgeFirst judges the first request: the line must have been quiet, as far as
// somebody listened.
func (j *Judge) judgeFirst(h *host, m *exchange.Message) {
	switch {
	case !m.Span.Known:
		h.hide(LinkQuiet, noTimes)
	case j.before.watched && j.sight.since(0, 0, m).above(h.quiet()):
		h.keep(LinkQuiet)
	default:
		h.hide(LinkQuiet, noBefore)
	}
}

// judgeOverlap judges a request that may have begun while something else was on
// the line. It is false where it did, and so was nobody's turn.
func (j *Judge) judgeOverlap(h *host, m *exchange.Message, w wait) bool {
	b := &j.before
	apart, at := b.stream != m.Stream, whereOf(m)
	if w.most < 0 && apart && b.what == request && b.primary == h.primary {
		h.breach(SameMaster, at, "begins %s before another request with the same master bit ends", w.early())
		return false
	}
	j.hideSameMaster(h, sameMaster)
	switch {
	case w.most < 0 && !apart:
		h.hide(LinkQuiet, "times contradict each other")
		return false
	case w.most < 0:
		h.breach(Overlap, at, "begins %s before something else on the line ends", w.early())
		return false
	case j.sight.Carriers:
		j.keepSilence(h, m)
	case !apart || !j.sight.Direct:
		h.hide(Overlap, oneStream)
	case w.least < 0:
		h.doubt(Overlap, at, "begins at most %s before something else on the line ends", milliseconds(-w.least))
	default:
		h.keep(Overlap)
	}
	return true
}

// judgeTimeOut judges what a host asks behind a request of its own: a reply may
// begin, and then the line must be quiet.
func (h *host) judgeTimeOut(at where, w wait) {
	switch {
	case w.below(slaveTimeOut):
		h.breach(TimeOut, at, "begins %s after its own request, want at least %s: a reply may still begin", w.short(), characters(slaveTimeOut))
	case !w.above(slaveTimeOut):
		h.doubt(TimeOut, at, "begins %s after its own request, want at least %s", w.doubtful(), characters(slaveTimeOut))
	default:
		h.keep(TimeOut)
		h.judgeQuiet(at, w, LinkQuiet, "its own request, which nobody answers")
	}
}

// judgeQuiet judges a request without a turn: the line must have been quiet. What
// comes too early breaks rule r.
func (h *host) judgeQuiet(at where, w wait, r Rule, behind string) {
	switch {
	case w.below(h.quiet()):
		h.breach(r, at, "begins %s after %s, want at least %s", w.short(), behind, characters(h.quiet()))
	case w.above(h.quiet()):
		h.keep(LinkQuiet)
	default:
		h.doubt(r, at, "begins %s after %s, want at least %s", w.doubtful(), behind, characters(h.quiet()))
	}
}

// judgeUnreadable judges a request behind something that could not be read here.
// The host may have read it. It may have been the reply to a request of its own, or
// else anything, the reply to the other master or the beginning of this request as
// well.
func (j *Judge) judgeUnreadable(h *host, at where, w wait, asked bool) {
	switch {
	case asked && j.sight.Direct && w.above(1) && w.below(linkGrant):
		h.breach(LinkQuiet, at, "begins %s after something unreadable, want at least %s", w.short(), characters(h.quiet()))
	case w.above(h.quiet()):
		h.keep(LinkQuiet)
	default:
		h.doubt(LinkQuiet, at, "begins %s after something that could not be read here", w.doubtful())
	}
}

// judgeGranted judges a request behind something that gives the host a turn, which
// begins some characters later. It is false where the turn was not used, or is in
// doubt.
func (h *host) judgeGranted(at where, w wait, from int64, behind string) bool {
	switch {
	case from > 0 && w.below(from):
		h.breach(LinkGrant, at, "begins %s after %s, want at least %s", w.short(), behind, characters(from))
		return false
	case from > 0 && !w.above(from):
		h.doubt(LinkGrant, at, "begins %s after %s, want at least %s", w.doubtful(), behind, characters(from))
		return false
	case from > 0:
		h.keep(LinkGrant)
	}
	switch {
	case w.within(from + hold):
		h.keep(Hold)
		return true
	case w.above(h.quiet()):
		h.keep(LinkQuiet)
	case w.beyond(from+hold) && w.below(h.quiet()):
		h.breach(Hold, at, "begins %s after %s, want at most %s, or at least %s", w.long(), behind, characters(from+hold), characters(h.quiet()))
	default:
		h.doubt(Hold, at, "begins %s after %s, want at most %s, or at least %s", w.doubtful(), behind, characters(from+hold), characters(h.quiet()))
	}
	return false
}
