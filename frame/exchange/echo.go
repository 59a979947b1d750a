package exchange

import (
	"bytes"

	"looptone/frame"
)

// echoWithin is how far apart two hearings of one frame begin at most. It is the
// slave time-out: no master asks the same again before that.
const echoWithin = 28 * character

// hearings are the last frames, for the case that one is heard a second time on
// another stream: by the second probe of a capture, or as the echo of a port.
type hearings struct {
	kept   [4]hearing
	next   int
	stream int  // of the last one
	mixed  bool // there is more than one stream
}

// hearing is a frame that was heard.
type hearing struct {
	number  int // of its message; 0 for none
	stream  int
	begin   Elapsed
	repeats uint64 // streams on which it was heard again
	size    int
	raw     [frame.MaxLen]byte
}

// keep remembers the frame of m.
func (hs *hearings) keep(m *Message) {
	h := &hs.kept[hs.next]
	hs.next = (hs.next + 1) % len(hs.kept)
	hs.stream = m.Stream
	h.number, h.stream, h.begin, h.repeats = m.Number, m.Stream, Elapsed{m.Span.Known, m.Span.Begin}, 0
	h.size = copy(h.raw[:], m.Raw)
}

// echoed is the number of the frame that ev is heard again of, 0 if of none. last
// is the number of the last message.
func (hs *hearings) echoed(ev *frame.Event, stream int, at Span, last int) int {
	if !hs.mixed && stream == hs.stream || ev.Outcome != frame.Whole {
		return 0
	}
	hs.mixed = true
	again := uint64(1) << (stream & 63)
	for i := range hs.kept {
		h := &hs.kept[i]
		if h.number == 0 || h.stream == stream || h.repeats&again != 0 || !bytes.Equal(h.raw[:h.size], ev.Raw) {
			continue
		}
		if h.beside(at, last) {
			h.repeats |= again
			return h.number
		}
	}
	return 0
}

// beside reports whether something heard at at can be h: within a short time, or
// where times are not known, directly behind.
func (h *hearing) beside(at Span, last int) bool {
	if h.begin.Known && at.Known {
		return max(h.begin.Time-at.Begin, at.Begin-h.begin.Time) < echoWithin
	}
	return h.number == last
}
