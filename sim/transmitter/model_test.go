package transmitter_test

import (
	"math"
	"time"

	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/process"
)

// lagging is a first-order plant: it goes to Full times the opening of its valve.
// The opening counts as held, for which it is exact.
type lagging struct {
	Begin, Full float64
	TimeS       float64
}

func (l lagging) Course() process.Course  { return &laggingCourse{l, l.Begin} }
func (lagging) Unit() unit.Code           { return 0 }
func (lagging) Check(time.Duration) error { return nil }

type laggingCourse struct {
	lagging
	value float64
}

func (l *laggingCourse) Step(_ sim.Tick, dt, opening float64) float64 {
	l.value += (l.Full*opening - l.value) * -math.Expm1(-dt/l.TimeS)
	return l.value
}

// dial is a process that a test turns by hand.
type dial struct{ value *float64 }

func dialled(value float64) dial { return dial{&value} }

func (d dial) Course() process.Course                  { return d }
func (d dial) Step(sim.Tick, float64, float64) float64 { return *d.value }
func (dial) Unit() unit.Code                           { return 0 }
func (dial) Check(time.Duration) error                 { return nil }

// in gives the values of a model a unit of their own.
type in struct {
	process.Model
	unit unit.Code
}

func (i in) Unit() unit.Code { return i.unit }

// broken has no value from one moment to another.
type broken struct {
	process.Model
	from, to sim.Tick
}

func (b broken) Course() process.Course { return &brokenCourse{b.Model.Course(), b} }

type brokenCourse struct {
	process.Course
	when broken
}

func (b *brokenCourse) Step(now sim.Tick, dt, opening float64) float64 {
	v := b.Course.Step(now, dt, opening)
	if now >= b.when.from && now < b.when.to {
		return math.NaN()
	}
	return v
}
