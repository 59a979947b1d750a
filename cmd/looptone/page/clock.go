package page

import (
	"fmt"
	"time"

	"looptone/sim/live"
)

// A clock lets line time stand still and go, for [linefile.Assembly] too, and says who
// has done it and why.
type clock struct {
	scene   *Scene
	by, why string
	actor   string  // who is doing something now; empty: an action at its time, or of --control
	passes  float64 // as it was told
	steps   string  // who wants one message more
}

// Stop lets line time stand still.
func (c *clock) Stop() error {
	c.scene.asking.stopReading()
	return c.stop(c.whoActs(), "paused")
}

// Go lets it go on.
func (c *clock) Go() error {
	c.steps = ""
	return c.goOn(c.whoActs(), "")
}

func (c *clock) whoActs() string {
	if c.actor != "" {
		return c.actor
	}
	return "an action"
}

func (c *clock) stop(by, why string) error {
	if !c.scene.simulated() {
		return live.ErrOutside
	}
	if err := c.scene.runner.Stop(); err != nil {
		return err
	}
	c.steps = ""
	c.say(by, why)
	return nil
}

func (c *clock) goOn(by, why string) error {
	if err := c.scene.runner.Go(); err != nil {
		return err
	}
	if why == "" {
		why = slowness(c.scene.runner.Passes())
	}
	c.say(by, why)
	return nil
}

// pace lets line time pass more slowly.
func (c *clock) pace(by string, factor float64) error {
	if !c.scene.simulated() {
		return live.ErrOutside
	}
	if err := c.scene.runner.Pace(factor); err != nil {
		return fmt.Errorf("pace: got %g, %w", factor, err)
	}
	if c.scene.runner.Passes() == 0 {
		return nil // it is told when it goes on
	}
	c.say(by, slowness(factor))
	return nil
}

func slowness(pace float64) string {
	if pace < 1 {
		return "slow motion"
	}
	return ""
}

// step lets the line go on until the next message has ended, or nobody has answered.
func (c *clock) step(by string) error {
	if !c.scene.simulated() {
		return live.ErrOutside
	}
	_ = c.scene.runner.Go() // if it stood still
	c.steps = by
	c.say(by, "one message on")
	return nil
}

// stepped stops the line where one message more was wanted.
func (c *clock) stepped() {
	if by := c.steps; by != "" {
		_ = c.stop(by, "one message on") // it could go on, so it can stop
	}
}

func (c *clock) say(by, why string) {
	c.by, c.why = by, why
	c.tell()
}

func (c *clock) tell() {
	now := c.now()
	c.passes = now.Pace
	c.scene.tell("clock", now)
}

// now is the clock as it is between two events of the line, or in one.
func (c *clock) now() Clock {
	s := c.scene
	return Clock{Line: s.assembly.Line.Now().Seconds(), Pace: s.runner.Passes(), By: c.by, Why: c.why}
}

// look tells of a change that nobody has told: somebody has come from outside.
func (c *clock) look() {
	if passes := c.scene.runner.Passes(); passes != c.passes {
		c.say("", "")
	}
}

// later has f done after a while of the wall clock, if the line still runs then.
func (s *Scene) later(d time.Duration, f func()) *time.Timer {
	return time.AfterFunc(d, func() { s.runner.Do(f) })
}
