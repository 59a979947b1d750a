package findings

import (
	"fmt"

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
	j.judgeTalker(h, m)
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

// A bare request is one with fewer preambles than a receiver needs, so that what
// is heard is noise; n is how many it has.
//
// Source: FieldComm Group support article 8000040648 (two FF before the delimiter).
func bareRequest(m *exchange.Message) (f frame.Frame, n int, ok bool) {
	if m.Outcome != frame.Noise || m.Preambles > 0 {
		return f, 0, false
	}
	raw := m.Raw
	if raw[0] == 0xff {
		raw, n = raw[1:], 1
	}
	if len(raw) == 0 || frame.Delimiter(raw[0]).Kind() != frame.STX {
		return f, 0, false
	}
	f, err := frame.Parse(raw)
	return f, n, err == nil
}

// addBare judges a bare request, which no device answers.
func (j *Judge) addBare(m *exchange.Message) {
	f, n, ok := bareRequest(m)
	if !ok {
		return
	}
	h := j.host(f.Primary)
	h.requests++
	if j.sight.Direct {
		h.breach(Preambles, whereOf(m), "has %s, want at least %d: nobody hears it as a request", preambles(n), fewestPreambles)
	} else {
		h.doubt(Preambles, whereOf(m), "%s heard in front of a request, want at least %d: some may be lost on the way", preambles(n), fewestPreambles)
	}
}

// preambles is so many of them in words.
func preambles(n int) string {
	switch n {
	case 0:
		return "no preambles"
	case 1:
		return "1 preamble"
	}
	return fmt.Sprint(n, " preambles")
}

// enough judges whether a request has so many preambles as a rule wants.
func (j *Judge) enough(h *host, m *exchange.Message, r Rule, want int) bool {
	switch n := m.Preambles; {
	case n >= want:
		h.keep(r)
		return true
	case j.sight.Direct:
		h.breach(r, whereOf(m), "has %s for %s, want at least %d", preambles(n), name(m), want)
	default:
		h.doubt(r, whereOf(m), "%s heard for %s, want at least %d: some may be lost on the way", preambles(n), name(m), want)
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
