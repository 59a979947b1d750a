// Package process is what there is to measure: courses that are known
// beforehand, and plants in which something flows, fills up or warms up, and
// that a valve can act upon.
//
// A [Model] describes a process; a [Course] is one on its way. A course moves on
// the grid of the transmitter that it drives and knows no other time.
package process

import (
	"time"

	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/setting"
)

// A Config is a process and what comes on top of it.
type Config struct {
	Model Model
	Noise float64 // standard deviation of Gaussian noise that is added; 0 is none
	Seed  uint64  // of the noise; processes that share one have the same noise

	// FailsAt is when the sensor loses touch with the process: from then on what it
	// reads is not a number. 0 is never.
	FailsAt time.Duration
}

// A Model describes a process.
type Model interface {
	// Course begins the process at line time 0.
	Course() Course

	// Unit is that of the values; 0 for whatever the sensor's is.
	Unit() unit.Code

	// Check refuses what is wrong with the model for a grid like that. An error
	// is a [*setting.Error].
	Check(grid time.Duration) error
}

// A Course is a process on its way.
type Course interface {
	// Step gives the value at now, dt seconds after the step before it. Up to now
	// the valve was open by the share opening, 0 to 1. The first step has a dt
	// of 0.
	Step(now sim.Tick, dt, opening float64) float64
}

// Check refuses what is wrong with the process. An error is a [*setting.Error].
func (c *Config) Check(grid time.Duration) error {
	if c.Model == nil {
		return setting.Refuse("process.model", "none", "one of the models")
	}
	if err := c.Model.Check(grid); err != nil {
		return err
	}
	return setting.First(
		setting.NotNegative("process.noise", c.Noise),
		setting.Duration("process.fails_at_s", c.FailsAt, 0))
}

// Course begins the process at line time 0.
func (c *Config) Course() Course {
	course := c.Model.Course()
	if c.Noise > 0 {
		course = &noisy{course, newNoise(c.Noise, c.Seed)}
	}
	if c.FailsAt > 0 {
		course = &failing{course, sim.Ticks(c.FailsAt)}
	}
	return course
}
