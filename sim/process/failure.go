package process

import (
	"math"

	"looptone/sim"
)

// failing is a course of which from some moment on nothing can be read.
type failing struct {
	Course
	from sim.Tick
}

func (f *failing) Step(now sim.Tick, dt, opening float64) float64 {
	if now >= f.from {
		return math.NaN()
	}
	return f.Course.Step(now, dt, opening)
}
