package master

import (
	"slices"

	"looptone/sim"
)

// schedule says which query is asked next.
//
// One that has a period is due at multiples of it from the first time on. Of those
// that are due the one that waits longest goes first; a due time that has passed
// before its query was asked is not made up for. The others take turns in what is
// left. Where nothing is left, because the periods are too short for the line, one
// of the others goes when as many with a period have gone as there are: nobody
// starves.
type schedule struct {
	entries []entry
	now     sim.Tick // when the last transaction ended
	free    int      // place of the one without a period that was asked last
	row     int      // how many with a period were asked since then
}

// entry is a query in a schedule.
type entry struct {
	*Query
	device *polled
	left   int // rounds; negative for no end
	begun  bool
	first  sim.Tick // when it was asked first
	due    sim.Tick // when it is to be asked next
}

// restart has everything due at once, on a line whose time may have begun anew.
func (s *schedule) restart() {
	for i := range s.entries {
		e := &s.entries[i]
		e.begun, e.first, e.due = false, 0, 0
	}
}

// next is the query that is asked next, not before it is due; nil at the end.
func (s *schedule) next() *entry {
	timed, count := s.longestWaiting()
	free := s.nextFree()
	switch {
	case timed != nil && (free < 0 || timed.due <= s.now && s.row < count):
		s.row++
		return timed
	case free >= 0:
		s.free, s.row = free, 0
		return &s.entries[free]
	}
	return nil
}

// longestWaiting is the query with a period that is or will be due first, of so many.
func (s *schedule) longestWaiting() (first *entry, of int) {
	for i := range s.entries {
		e := &s.entries[i]
		if e.Every == 0 || e.left == 0 {
			continue
		}
		of++
		if first == nil || e.due < first.due {
			first = e
		}
	}
	return first, of
}

// nextFree is the place of the query without a period whose turn it is; -1 for none.
func (s *schedule) nextFree() int {
	n := len(s.entries)
	for i := 1; i <= n; i++ {
		at := (s.free + i) % n
		if e := &s.entries[at]; e.Every == 0 && e.left != 0 {
			return at
		}
	}
	return -1
}

// asked takes note that a query was asked at a moment.
func (s *schedule) asked(e *entry, at sim.Tick) {
	if e.left > 0 {
		e.left--
	}
	if e.Every == 0 {
		return
	}
	if !e.begun {
		e.begun, e.first = true, at
	}
	e.due = e.first + ((at-e.first)/e.Every+1)*e.Every
}

// newSchedule has each query asked in rounds, or without end. Queries to the same
// target are to the same device.
func newSchedule(queries []Query, rounds int) (*schedule, []*polled) {
	if rounds == 0 {
		rounds = -1
	}
	s := &schedule{free: len(queries) - 1}
	var devices []*polled
	for i := range queries {
		q := &queries[i]
		at := slices.IndexFunc(devices, func(d *polled) bool { return d.target == q.Device })
		if at < 0 {
			at = len(devices)
			devices = append(devices, newPolled(q.Device))
		}
		devices[at].tallyOf(q.Command)
		s.entries = append(s.entries, entry{Query: q, device: devices[at], left: rounds})
	}
	return s, devices
}
