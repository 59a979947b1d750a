package transmitter

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"looptone/frame/unit"
	"looptone/sim/process"
	"looptone/sim/setting"
)

// How far apart grid points may be.
const (
	DefaultGrid  = 100 * time.Millisecond
	ShortestGrid = 10 * time.Millisecond
	LongestGrid  = time.Second
)

// A Config describes a transmitter.
type Config struct {
	Grid             time.Duration // 0 is DefaultGrid
	Process          process.Config
	Sensor           Sensor
	Characterisation Temperature // what the transmitter knows of its sensor, and takes off
	DampingS         float64     // time constant in seconds; 0 is none
	Trim             Trim
	Range            Scale // what stands for 0 and 100 %, within the sensor's limits
	Transfer         Transfer
	Table            []Point     // percent to percent; none is straight
	UserUnit         *Scale      // what the primary variable is at 0 and 100 %; nil: it is in the range's unit
	Totaliser        *Totaliser  // nil: none
	Controller       *Controller // nil: none
	Source           Source      // what the loop current follows
	Current          Current

	// Stages are the names of the stages in their order; nil for the usual one.
	Stages []string
}

// clone is a copy that shares nothing with c that could be changed.
func (c *Config) clone() Config {
	own := *c
	own.Table, own.Stages = slices.Clone(c.Table), slices.Clone(c.Stages)
	own.UserUnit, own.Totaliser, own.Controller = clone(c.UserUnit), clone(c.Totaliser), clone(c.Controller)
	return own
}

func clone[T any](p *T) *T {
	if p == nil {
		return nil
	}
	own := *p
	return &own
}

// withDefaults is a clone with the defaults where c leaves a setting at 0.
func (c *Config) withDefaults() Config {
	own := c.clone()
	own.Grid = cmp.Or(c.Grid, DefaultGrid)
	own.Trim = c.Trim.withDefaults()
	own.Transfer.Power = cmp.Or(c.Transfer.Power, 1)
	if c.Controller != nil {
		*own.Controller = c.Controller.withDefaults()
	}
	own.Current = c.Current.withDefaults()
	return own
}

// check refuses the first setting that is wrong.
func (c *Config) check() error {
	checks := []func() error{
		c.checkGrid,
		c.Sensor.check,
		c.checkProcess,
		func() error { return c.Characterisation.check("characterisation", c.Sensor.AtC) },
		func() error { return setting.NotNegative("damping_s", c.DampingS) },
		func() error { return c.Trim.check("trim.gain", "trim.offset") },
		c.checkRange,
		c.Transfer.check,
		func() error { return checkTable(c.Table) },
		c.checkUserUnit,
		c.checkTotaliser,
		c.checkController,
		c.checkSource,
		c.Current.check,
		c.checkStages,
	}
	for _, check := range checks {
		if err := check(); err != nil {
			return err
		}
	}
	return nil
}

func (c *Config) checkGrid() error {
	if c.Grid < ShortestGrid || c.Grid > LongestGrid {
		return setting.Refuse("grid_ms", c.Grid, "%v to %v", ShortestGrid, LongestGrid)
	}
	return nil
}

// checkProcess wants values that the sensor can be given.
func (c *Config) checkProcess() error {
	if err := c.Process.Check(c.Grid); err != nil {
		return err
	}
	own, sensor := c.Process.Model.Unit(), c.Sensor.Unit
	if own == 0 {
		return nil
	}
	if _, err := conversion(own, sensor); err != nil {
		return setting.Refuse("process.model", fmt.Sprintf("one with values in %v", own),
			"one with values that convert to the sensor's %v", sensor)
	}
	return nil
}

func (c *Config) checkRange() error {
	if err := c.Range.check("range"); err != nil {
		return err
	}
	if err := c.checkRangeUnit(); err != nil {
		return err
	}
	if err := c.checkWithinSensor("range.lower", c.Range.Lower); err != nil {
		return err
	}
	if err := c.checkWithinSensor("range.upper", c.Range.Upper); err != nil {
		return err
	}
	return c.checkSpan()
}

func (c *Config) checkSpan() error {
	lower, upper := c.rangeInSensorUnit()
	span := math.Abs(upper - lower)
	if span == 0 {
		return c.Range.refuseSpan("range")
	}
	if span >= c.Sensor.MinimumSpan-roundingShare*c.Sensor.span() {
		return nil
	}
	return setting.Refuse("range.upper", quantity(c.Range.Upper, c.Range.Unit), "a span of at least %s: it is %s from range.lower, %s",
		quantity(c.Sensor.MinimumSpan, c.Sensor.Unit), quantity(span, c.Sensor.Unit), quantity(c.Range.Lower, c.Range.Unit))
}

func (c *Config) checkRangeUnit() error {
	got, want := c.Range.Unit, c.Sensor.Unit
	_, err := unit.Convert(0, got, want)
	switch {
	case err == nil:
		return nil
	case got.Quantity() != want.Quantity():
		return setting.Refuse("range.unit", got, "a unit of %v, as the sensor's %v is", want.Quantity(), want)
	}
	return setting.Refuse("range.unit", got, "%v, as the sensor has: nothing else converts to it", want)
}

// roundingShare of the sensor's span may be lost in converting a limit of the
// range; it still counts as within the sensor's limits.
const roundingShare = 1e-9

func (c *Config) checkWithinSensor(name string, limit float64) error {
	v := c.inSensorUnit(limit)
	slack := roundingShare * c.Sensor.span()
	if v >= c.Sensor.Lower-slack && v <= c.Sensor.Upper+slack {
		return nil
	}
	got := quantity(limit, c.Range.Unit)
	if c.Range.Unit != c.Sensor.Unit {
		got += ", that is " + quantity(v, c.Sensor.Unit)
	}
	return setting.Refuse(name, got, "%g to %s, the sensor's limits",
		c.Sensor.Lower, quantity(c.Sensor.Upper, c.Sensor.Unit))
}

// inSensorUnit converts a value of the range; its unit has been checked.
func (c *Config) inSensorUnit(v float64) float64 {
	v, _ = unit.Convert(v, c.Range.Unit, c.Sensor.Unit)
	return v
}

// rangeInSensorUnit is the range converted, without what rounding puts outside
// the sensor's limits; it has been checked.
func (c *Config) rangeInSensorUnit() (lower, upper float64) {
	within := func(v float64) float64 { return min(max(v, c.Sensor.Lower), c.Sensor.Upper) }
	return within(c.inSensorUnit(c.Range.Lower)), within(c.inSensorUnit(c.Range.Upper))
}

func (c *Config) checkUserUnit() error {
	if c.UserUnit == nil {
		return nil
	}
	return c.UserUnit.check("user_unit")
}

// primaryUnit is the unit of the primary variable.
func (c *Config) primaryUnit() unit.Code {
	if c.UserUnit != nil {
		return c.UserUnit.Unit
	}
	return c.Range.Unit
}

func (c *Config) checkTotaliser() error {
	if c.Totaliser == nil {
		return nil
	}
	if _, err := perSecond(c.primaryUnit(), c.Totaliser.Unit); err != nil {
		return err
	}
	return c.Totaliser.Begin.check()
}

func (c *Config) checkController() error {
	if c.Controller == nil {
		return nil
	}
	return c.Controller.check()
}
