package findings

import (
	"looptone/frame"
	"looptone/frame/exchange"
)

// Preambles of a request.
//
// Source: Texas Instruments SLAAEH0, section 1.5.3 (5 to 20); encyclopaedia-style
// HART article (20 for an unknown device).
const (
	fewestPreambles  = 5
	mostPreambles    = 20
	unknownPreambles = 20
)

// addRequest judges a whole request.
func (j *Judge) addRequest(m *exchange.Message) {
	h := j.host(m.Frame.Primary)
	h.requests++
	h.ask(m)
	j.judgePreambles(h, m)
	j.judgeForm(h, m)
	j.judgeGap(h, m)
	j.judgeTurn(h, m)
}

func (j *Judge) judgePreambles(h *host, m *exchange.Message) {
	want, known := 0, false
	if m.Device != nil {
		want, known = j.wants[m.Device.Unique]
	}
	switch n := m.Preambles; {
	case n > max(mostPreambles, want):
		h.breach(Preambles, whereOf(m), "has %d preambles, want at most %d", n, max(mostPreambles, want))
	case j.enough(h, m, Preambles, fewestPreambles) && known:
		j.enough(h, m, DevicePreambles, want)
	}
	if m.Device == nil && isIntroduction(&m.Frame) {
		j.enough(h, m, FirstPreambles, unknownPreambles)
	}
}

// isIntroduction reports whether f asks who has a polling address.
func isIntroduction(f *frame.Frame) bool {
	_, short := f.Address.IsPolling()
	return short && f.Number() == 0
}

// enough judges whether a request has so many preambles as a rule wants.
func (j *Judge) enough(h *host, m *exchange.Message, r Rule, want int) bool {
	switch n := m.Preambles; {
	case n >= want:
		h.keep(r)
		return true
	case j.sight.Direct:
		h.breach(r, whereOf(m), "has %d preambles for %s, want at least %d", n, name(m), want)
	default:
		h.doubt(r, whereOf(m), "%d preambles were heard for %s, want at least %d: some may be lost on the way", n, name(m), want)
	}
	return false
}

// oldest is the first revision in which commands other than 0 want a unique address.
//
// Source: from memory.
const oldest = 5

// judgeForm judges what a request consists of.
func (j *Judge) judgeForm(h *host, m *exchange.Message) {
	f := &m.Frame
	switch _, short := f.Address.IsPolling(); {
	case !short || f.Number() == 0:
		h.keep(ShortFrame)
	case m.Device == nil || m.Device.Revision >= oldest:
		h.breach(ShortFrame, whereOf(m), "asks %s for command %d, want its unique address", name(m), f.Number())
	}
	if f.Burst {
		h.breach(BurstBit, whereOf(m), "has the burst bit set, want 0")
	} else {
		h.keep(BurstBit)
	}
	h.keep(ByteCount)
	h.keep(CheckByte)
	if j.sight.Parity {
		h.keep(Parity)
	} else {
		h.hide(Parity, "neither parity nor stop bits are seen")
	}
}

// judgeGap judges the longest pause between two characters.
func (j *Judge) judgeGap(h *host, m *exchange.Message) {
	doubt := j.sight.late(&m.Span) + j.sight.Rounded
	switch pause := m.Span.Pause; {
	case !m.Span.Known:
		h.hide(Gap, noTimes)
	case !j.sight.Single || j.sight.AtOnce:
		h.hide(Gap, "the times of single characters are not known")
	case doubt >= frame.Character:
		h.hide(Gap, "times may be wrong by more than a character")
	case pause-doubt > frame.Character:
		h.breach(Gap, whereOf(m), "pauses for %s, want at most %s", milliseconds(pause), characters(1))
	case pause+doubt <= frame.Character:
		h.keep(Gap)
	default:
		h.doubt(Gap, whereOf(m), "pauses for %s to %s, want at most %s", milliseconds(max(pause-doubt, 0)), milliseconds(pause+doubt), characters(1))
	}
}
