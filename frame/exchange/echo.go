package exchange

import (
	"bytes"

	"looptone/frame"
)

// echoWithin is how far apart two hearings of one frame begin at most. It is the
// slave time-out: no master asks the same again before that. What the times may be
// late by comes on top.
const echoWithin = 28 * frame.Character

// hearings are the last frames and damages, for the case that one is heard a second
// time on another stream: by the second probe of a capture, or as the echo of a
// port.
type hearings struct {
	kept   [4]hearing
	next   int
	stream int  // of the last one
	mixed  bool // there is more than one stream
}

// hearing is a frame that was heard, or damage.
type hearing struct {
	number  int // of its message; 0 for none
	stream  int
	span    Span
	kind    frame.Kind // 0 where it was not heard
	repeats uint64     // streams on which it was heard again
	size    int        // 0 for damage
	raw     [frame.MaxLen]byte
}

// keep remembers the frame of m, or that there was damage.
func (hs *hearings) keep(m *Message) {
	h := &hs.kept[hs.next]
	hs.next = (hs.next + 1) % len(hs.kept)
	hs.stream = m.Stream
	h.number, h.stream, h.span, h.kind, h.repeats, h.size = m.Number, m.Stream, m.Span, kindOf(m.Event), 0, 0
	if m.Outcome == frame.Whole {
		h.size = copy(h.raw[:], m.Raw)
	}
}

// echoed is the number of the frame that ev is heard again of, 0 if of none. last
// is the number of the last message.
func (hs *hearings) echoed(ev *frame.Event, stream int, at *Span, last int) int {
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
		if h.isEcho(at, last) {
			h.repeats |= again
			return h.number
		}
	}
	return 0
}

// isEcho reports whether the same heard at at can be h: within a short time, or
// where times are not known, directly behind.
func (h *hearing) isEcho(at *Span, last int) bool {
	if h.span.Known && at.Known {
		behind := at.Begin - h.span.Begin
		return behind < echoWithin+at.Late && -behind < echoWithin+h.span.Late
	}
	return h.number == last
}

// beside is the number of what another stream heard while ev was heard, where one of
// them is damaged; 0 for none. What is known to be of different types is not the same.
func (hs *hearings) beside(ev *frame.Event, stream int, at *Span) int {
	if !hs.mixed && stream == hs.stream || !at.Known {
		return 0
	}
	hs.mixed = true
	kind := kindOf(ev)
	for i := range hs.kept {
		h := &hs.kept[i]
		damaged := ev.Outcome != frame.Whole || h.size == 0
		alike := kind == 0 || h.kind == 0 || kind == h.kind
		if h.number > 0 && h.stream != stream && damaged && alike && h.span.overlaps(at) {
			return h.number
		}
	}
	return 0
}

// overlaps reports whether two spans can have been at the same time.
func (s *Span) overlaps(at *Span) bool {
	return s.Known && at.Known && s.Begin-s.Late < at.End && at.Begin-at.Late < s.End
}
