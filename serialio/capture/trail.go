package capture

import (
	"slices"
	"time"
)

// A Trail remembers where in its file each character of a stream stood, and when
// it was on the line, as long as somebody may ask. The zero Trail is empty.
type Trail struct {
	parts []part
	spare [][]int64 // columns and samples of forgotten parts
}

// maxParts bounds what a run of FF that does not end leaves behind: of more, those
// in the middle are forgotten. What else waits to be delivered is two largest
// frames, which are fewer even when every character is a record of its own.
const maxParts = 2048

// part is where and when the characters from index first of the stream on stood.
type part struct {
	first, end int64
	place      Place
	start      Stamp
	late       time.Duration
}

// Add takes over places and times of a record whose first character has index pos.
func (t *Trail) Add(pos int64, r *Record) {
	if len(r.Chars) == 0 {
		return
	}
	if len(t.parts) >= maxParts {
		t.drop(1, maxParts/2)
	}
	place := r.Place
	place.Columns, place.Samples = t.kept(place.Columns), t.kept(place.Samples)
	t.parts = append(t.parts, part{pos, pos + int64(len(r.Chars)), place, r.Start, r.Late})
}

// kept is a copy, in the room of one that was forgotten if there is such; nil of nil.
func (t *Trail) kept(places []int64) []int64 {
	n := len(t.spare)
	if n == 0 || places == nil {
		return slices.Clone(places)
	}
	room := t.spare[n-1][:0]
	t.spare = t.spare[:n-1]
	return append(room, places...)
}

// Position is the place of the character with index pos, if it is remembered.
func (t *Trail) Position(pos int64) (Position, bool) {
	if p := t.at(pos); p != nil {
		return p.place.Of(int(pos - p.first)), true
	}
	return Position{}, false
}

// Begin is when the start bit of the character with index pos began, if that is
// known.
func (t *Trail) Begin(pos int64) Stamp {
	if p := t.at(pos); p != nil {
		return p.start.plus(pos - p.first)
	}
	return Stamp{}
}

// End is when the stop bit of the character with index pos ended, if that is known.
func (t *Trail) End(pos int64) Stamp { return t.Begin(pos).plus(1) }

// Pause is the longest time between two characters from index from to before index
// to, as far as times are known.
func (t *Trail) Pause(from, to int64) (longest time.Duration) {
	for i := 1; i < len(t.parts); i++ {
		p, next := &t.parts[i-1], &t.parts[i]
		if p.end > from && next.first < to && p.start.known && next.start.known {
			longest = max(longest, next.start.since-p.start.plus(p.end-p.first).since)
		}
	}
	return longest
}

// Late is by how much the times of that character may lie behind what they are of.
func (t *Trail) Late(pos int64) time.Duration {
	if p := t.at(pos); p != nil {
		return p.late
	}
	return 0
}

// at is the part that holds the character with index pos; nil for none.
func (t *Trail) at(pos int64) *part {
	for i := range t.parts {
		if p := &t.parts[i]; pos >= p.first && pos < p.end {
			return p
		}
	}
	return nil
}

// Forget drops what stands before index pos.
func (t *Trail) Forget(pos int64) {
	n := 0
	for n < len(t.parts) && t.parts[n].end <= pos {
		n++
	}
	if n > 0 {
		t.drop(0, n)
	}
}

func (t *Trail) drop(from, to int) {
	for i := range t.parts[from:to] {
		place := &t.parts[from+i].place
		for _, places := range [...][]int64{place.Columns, place.Samples} {
			if places != nil && len(t.spare) < maxParts {
				t.spare = append(t.spare, places)
			}
		}
	}
	t.parts = slices.Delete(t.parts, from, to)
}
