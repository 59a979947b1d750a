package capture

import "slices"

// A Trail remembers where in its file each character of a stream stood, as long
// as somebody may ask. The zero Trail is empty.
type Trail struct{ parts []part }

// part is where the characters from index first of the stream on stand.
type part struct {
	first, end int64
	place      Place
}

// Add takes over the places of a record whose first character has index pos.
func (t *Trail) Add(pos int64, r *Record) {
	if len(r.Chars) == 0 {
		return
	}
	place := r.Place
	place.Columns = slices.Clone(place.Columns)
	t.parts = append(t.parts, part{pos, pos + int64(len(r.Chars)), place})
}

// Position is the place of the character with index pos, if it is remembered.
func (t *Trail) Position(pos int64) (Position, bool) {
	for i := range t.parts {
		if p := &t.parts[i]; pos >= p.first && pos < p.end {
			return p.place.Of(int(pos - p.first)), true
		}
	}
	return Position{}, false
}

// Forget drops what stands before index pos.
func (t *Trail) Forget(pos int64) {
	if len(t.parts) == 0 || t.parts[0].end > pos {
		return
	}
	n := 0
	for n < len(t.parts) && t.parts[n].end <= pos {
		n++
	}
	t.parts = slices.Delete(t.parts, 0, n)
}
