package sim

import (
	"slices"

	"looptone/frame"
)

// air is what is on the line between two silences: carriers, and the characters
// that a receiver makes of them.
type air struct {
	talks []talk
	chars []Char // heard, and expected if nobody else begins to talk
	taken int    // how many of chars were handed on
	whole bool   // chars are one whole frame, so nothing can be told before the last
	first int64  // index of chars[0] in the stream

	quiet Tick // when the line fell silent
	seen  Tick // up to here carriers that went off are dealt with

	port  *Seat // whose characters these are, when they come from outside
	since Tick  // when the first of them ended
	hold  Tick  // until then more of them may follow

	bytes []byte
	marks []frame.MarkAt
}

// talking reports whether a carrier is on.
func (a *air) talking() bool { return len(a.talks) > 0 }

// passed reports whether all characters were handed on.
func (a *air) passed() bool { return a.taken == len(a.chars) }

// fading reports whether nothing but the usual tail of a carrier is on.
func (a *air) fading(now Tick) bool {
	return a.talking() && a.passed() && a.off()-now <= CarrierTail
}

// begin switches a carrier on at now; from the seed follow the phases of the tones, where
// there are several.
func (a *air) begin(t talk, now Tick, seed uint64) {
	a.talks = append(a.talks, t)
	if len(a.talks) == 1 {
		a.chars = t.burst.sound(a.chars[:0])
		a.whole = isWhole(t.burst)
		a.markGaps(1)
		return
	}
	a.whole = false
	a.trim()
	ended := a.ended(now)
	from := a.talks[0].burst.At
	if ended > 0 {
		from = a.chars[ended-1].End
		a.forget(from)
	}
	a.chars = newSuperposition(a.talks, seed).hear(a.chars[:ended], from)
	a.markGaps(max(ended, 1))
}

// forget forgets carriers that went off before moment from: one that does not end
// must not make them many.
func (a *air) forget(from Tick) {
	a.talks = slices.DeleteFunc(a.talks, func(t talk) bool { return t.burst.Off() <= from })
}

// markGaps marks the characters from index first on that the line was idle before
// for longer than a character.
//
// Source: R. Bowden's HART message board, posts 2169 and 2228 (longer than one
// character time).
func (a *air) markGaps(first int) {
	for i := first; i < len(a.chars); i++ {
		if a.chars[i].Start-a.chars[i-1].End > Character {
			a.chars[i].Mark |= frame.Gap
		}
	}
}

// keptChars is how many characters of a port are remembered at least: more than
// an event can have, but for its preambles.
const keptChars = 1024

// put adds characters of a port that ended at moment at. A host that has no
// character timing sends a message at once; none of it began before the line
// fell silent.
func (a *air) put(seat *Seat, at Tick, chars []byte, marks []frame.MarkAt) {
	a.trim()
	if a.port == nil {
		a.since = at
	}
	a.port, a.hold, a.whole = seat, at+portSilence, false
	from := len(a.chars)
	for i, c := range chars {
		end := at - Tick(len(chars)-1-i)*Character
		a.chars = append(a.chars, Char{Value: c, Start: max(end-Character, a.quiet), End: max(end, a.quiet)})
	}
	for _, m := range marks {
		if i := from + int(m.Pos); i < len(a.chars) {
			a.chars[i].Mark |= m.Mark
		}
	}
}

// ended is the number of characters that have ended at now.
func (a *air) ended(now Tick) int {
	n := a.taken
	for n < len(a.chars) && a.chars[n].End <= now {
		n++
	}
	return n
}

// take hands on the next character that has ended at now, or a frame at once;
// pos is the index in the stream that its first character gets.
func (a *air) take(now Tick, pos int64) ([]byte, []frame.MarkAt) {
	n := min(a.taken+1, len(a.chars))
	if a.whole {
		n = len(a.chars)
	}
	if n == a.taken || a.chars[n-1].End > now {
		return nil, nil
	}
	a.bytes, a.marks = a.bytes[:0], a.marks[:0]
	for i, c := range a.chars[a.taken:n] {
		a.bytes = append(a.bytes, c.Value)
		if c.Mark != 0 {
			a.marks = append(a.marks, frame.MarkAt{Pos: pos + int64(i), Mark: c.Mark})
		}
	}
	a.taken = n
	return a.bytes, a.marks
}

// next is the moment of the next character or carrier off.
func (a *air) next() Tick {
	next := Never
	if a.port != nil {
		next = a.hold
	}
	switch {
	case a.passed():
	case a.whole:
		next = min(next, a.chars[len(a.chars)-1].End)
	default:
		next = min(next, a.chars[a.taken].End)
	}
	for _, t := range a.talks {
		if off := t.burst.Off(); off > a.seen {
			next = min(next, off)
		}
	}
	return next
}

// end reports whether the last carrier has gone off, or a port fallen silent.
func (a *air) end(now Tick) bool {
	a.seen = now
	if a.port != nil {
		return a.hold <= now
	}
	return a.talking() && a.off() <= now
}

// off is when the last carrier goes off.
func (a *air) off() (off Tick) {
	for _, t := range a.talks {
		off = max(off, t.burst.Off())
	}
	return off
}

// expected are the characters that have not ended.
func (a *air) expected() []Char { return a.chars[a.taken:] }

// char is the character with index pos of the stream, or the oldest that is
// remembered: the preambles of a port that sends FF all the time are many.
func (a *air) char(pos int64) Char { return a.chars[max(pos-a.first, 0)] }

// trim forgets characters that were handed on long ago.
func (a *air) trim() {
	if n := a.taken - keptChars; n >= keptChars {
		a.chars = slices.Delete(a.chars, 0, n)
		a.taken -= n
		a.first += int64(n)
	}
}

// clear makes the line quiet; the next character has index first.
func (a *air) clear(first int64) {
	if n := len(a.chars); n > 0 {
		a.quiet = max(a.off(), a.chars[n-1].End)
	}
	clear(a.talks)
	a.talks, a.chars = a.talks[:0], a.chars[:0]
	a.taken, a.first, a.port = 0, first, nil
}

// isWhole reports whether a receiver makes exactly one whole frame of b.
func isWhole(b *Burst) bool {
	if len(b.Marks)+len(b.Pauses) > 0 {
		return false
	}
	n := 0
	for n < len(b.Chars) && b.Chars[n] == 0xff {
		n++
	}
	_, err := frame.Parse(b.Chars[n:])
	return n >= 2 && err == nil
}
