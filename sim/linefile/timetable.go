package linefile

import (
	"slices"

	"looptone/sim"
)

// A timetable does what is to be done when its time has come. It is a station that
// neither talks nor hears, and on the line only while there is something to do.
type timetable struct {
	assembly *Assembly
	due      []*Action // by their times
	seat     *sim.Seat // nil while it is not on the line
}

// add puts x behind all that is to be done at its time or before. The line wakes a
// station that joins.
func (t *timetable) add(x *Action) {
	i := slices.IndexFunc(t.due, func(other *Action) bool { return other.Time > x.Time })
	if i < 0 {
		i = len(t.due)
	}
	t.due = slices.Insert(t.due, i, x)
	t.leave()
	t.seat = t.assembly.Line.Join(t)
	t.seat.Name = "timetable"
	t.seat.Cut(true)
}

func (t *timetable) leave() {
	if t.seat != nil {
		t.assembly.Line.Leave(t.seat)
		t.seat = nil
	}
}

// Step does what is due, and tells.
func (t *timetable) Step(now sim.Tick, _ []sim.Heard) (*sim.Burst, sim.Tick) {
	for len(t.due) > 0 && t.due[0].Time <= now {
		x := t.due[0]
		t.due = t.due[1:]
		did, err := t.assembly.act(now, x)
		if tell := t.assembly.Report; tell != nil {
			tell(now, did, err)
		}
	}
	if len(t.due) == 0 {
		t.leave()
		return nil, sim.Never
	}
	return nil, t.due[0].Time
}
