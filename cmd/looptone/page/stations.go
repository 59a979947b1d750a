package page

import (
	"cmp"
	"slices"
	"strings"

	"looptone/sim"
)

// mostGone is how many of those that have left the line are still shown: clients come
// and go.
const mostGone = 16

// stations are those who can talk on the line, each with a lane.
type stations struct {
	list []station
	next int // the ID of the one that comes next
}

type station struct {
	Station
	seat *sim.Seat
}

// look takes note of who has come and gone, and reports whether anybody has.
func (s *stations) look(scene *Scene) (changed bool) {
	seats := scene.assembly.Line.Seats()
	for i := range s.list {
		if x := &s.list[i]; !x.Gone && !slices.Contains(seats, x.seat) {
			x.Gone, changed = true, true
		}
	}
	for _, seat := range seats {
		if s.find(seat) == nil && s.add(scene, seat) {
			changed = true
		}
	}
	s.forget()
	return changed
}

// add gives a seat a lane, if anybody talks there. Who was there before, under the same
// name, has his old one.
func (s *stations) add(scene *Scene, seat *sim.Seat) bool {
	x := station{Station{Name: seat.Name, Device: slices.Index(scene.assembly.Seats, seat)}, seat}
	switch {
	case x.Device >= 0:
		x.Kind = "device"
	case seat.Name == "" || seat.Name == "electricity" || seat.Name == "timetable":
		return false
	case seat.Outside():
		x.Kind = "outside"
	case strings.HasSuffix(seat.Name, " master"):
		x.Kind = "master"
	default:
		x.Kind = "fault"
	}
	if old := s.gone(&x); old != nil {
		x.ID = old.ID
		*old = x
		return true
	}
	x.ID = s.next
	s.next++
	s.list = append(s.list, x)
	slices.SortStableFunc(s.list, func(a, b station) int { return cmp.Compare(rank(a.Kind), rank(b.Kind)) })
	return true
}

// gone is the lane of one of the same name and kind who has left; nil for none.
func (s *stations) gone(x *station) *station {
	for i := range s.list {
		if old := &s.list[i]; old.Gone && old.Name == x.Name && old.Kind == x.Kind {
			return old
		}
	}
	return nil
}

// rank orders lanes: who asks, above who answers.
func rank(kind string) int {
	return slices.Index([]string{"master", "outside", "device", "fault"}, kind)
}

// forget forgets who has gone first, if many have.
func (s *stations) forget() {
	gone := 0
	for i := range s.list {
		if s.list[i].Gone {
			gone++
		}
	}
	for ; gone > mostGone; gone-- {
		first := -1
		for i := range s.list {
			if s.list[i].Gone && (first < 0 || s.list[i].ID < s.list[first].ID) {
				first = i
			}
		}
		s.list = slices.Delete(s.list, first, first+1)
	}
}

func (s *stations) find(seat *sim.Seat) *station {
	for i := range s.list {
		if s.list[i].seat == seat {
			return &s.list[i]
		}
	}
	return nil
}

// of is the station of a seat, which may have come just now; nil where nobody talks.
func (s *stations) of(scene *Scene, seat *sim.Seat) *station {
	if x := s.find(seat); x != nil {
		return x
	}
	if s.look(scene) {
		scene.tell("stations", s.lanes())
	}
	return s.find(seat)
}

// device is the station of device i, −1 for none.
func (s *stations) device(i int) int {
	for _, x := range s.list {
		if x.Device == i && i >= 0 {
			return x.ID
		}
	}
	return -1
}

// lanes are the stations in the order of their lanes.
func (s *stations) lanes() []Station {
	list := make([]Station, len(s.list))
	for i, x := range s.list {
		list[i] = x.Station
	}
	return list
}
