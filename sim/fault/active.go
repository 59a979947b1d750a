package fault

import (
	"hash/fnv"
	"maps"
	"math/rand/v2"

	"looptone/sim"
)

// active is a fault of a set, and what has become of it.
type active struct {
	Fault
	kind   *kind
	values map[string]float64 // of all settings
	chance *rand.Rand
	struck int
	member *member // of Device; nil without one

	incoming map[*sim.Seat]*incoming // what comes in from outside

	// Of a fault that has something on the line, or times of its own.
	on           bool
	begins, ends *alarm
	next         *alarm // its next time
	mends        *alarm // what it did last is undone then
	seat         *sim.Seat
	stops        func() // ends what its station asks; nil for nothing
	gave         uint8  // polling address that it gave
}

// newActive is f, which was checked, with a source of chance that follows from the
// seed and its name.
func newActive(f Fault, k *kind, seed uint64) *active {
	name := fnv.New64a()
	name.Write([]byte(f.Name))
	a := &active{Fault: f, kind: k, chance: rand.New(rand.NewPCG(seed, name.Sum64())), values: map[string]float64{}}
	a.Settings = maps.Clone(f.Settings)
	for i := range k.Settings {
		a.values[k.Settings[i].Name] = f.setting(&k.Settings[i])
	}
	return a
}

// whole is a setting that is a whole number.
func (f *active) whole(name string) int { return int(f.values[name]) }

// ticks is a setting as a time, in the given unit.
func (f *active) ticks(name string, unit sim.Tick) sim.Tick {
	return sim.Tick(f.values[name]*float64(unit) + 0.5)
}

// strikes draws whether f strikes at a moment at which it can.
func (f *active) strikes(at sim.Tick) bool {
	if at < f.From || f.over(at) || f.spent() {
		return false
	}
	return f.Probability >= 1 || f.chance.Float64() < f.Probability
}

// spent reports whether f has struck as often as it may.
func (f *active) spent() bool { return f.Count > 0 && f.struck >= f.Count }

// over reports whether the time of f has passed.
func (f *active) over(at sim.Tick) bool { return f.Until != 0 && at >= f.Until }

// meets reports whether f is about the station of a seat.
func (f *active) meets(seat *sim.Seat) bool {
	switch {
	case f.member != nil:
		return seat == f.member.seat
	case f.Talker == Host:
		return seat.Outside()
	}
	return f.Talker == "" || f.Talker == seat.Name
}

// distance draws a time between two events that nothing connects, whose mean is
// given.
func (f *active) distance(mean sim.Tick) sim.Tick {
	return sim.Tick(f.chance.ExpFloat64() * float64(mean))
}
