package transmitter

import (
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

// A Config describes a transmitter. Numbers of Process are in the sensor's unit.
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

// withDefaults puts the defaults where c leaves a setting at 0.
func (c Config) withDefaults() Config {
	if c.UserUnit != nil {
		own := *c.UserUnit
		c.UserUnit = &own
	}
	if c.Grid == 0 {
		c.Grid = DefaultGrid
	}
	if c.Transfer.Power == 0 {
		c.Transfer.Power = 1
	}
	c.Current = c.Current.withDefaults()
	return c
}

// check refuses the first setting that is wrong.
func (c *Config) check() error {
	checks := []func() error{
		c.checkGrid,
		c.checkSensor,
		func() error { return c.Process.Check(c.Grid) },
		func() error { return setting.NotNegative("damping_s", c.DampingS) },
		c.checkRange,
		c.Transfer.check,
		c.checkUserUnit,
		c.Current.check,
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

func (c *Config) checkSensor() error {
	s := c.Sensor.Scale
	if err := s.check("sensor"); err != nil {
		return err
	}
	if s.Upper < s.Lower {
		return setting.Refuse("sensor.upper", quantity(s.Upper, s.Unit),
			"more than sensor.lower, %s", quantity(s.Lower, s.Unit))
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
	if lower, upper := c.rangeInSensorUnit(); lower == upper {
		return c.Range.refuseSpan("range")
	}
	return nil
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
	slack := roundingShare * (c.Sensor.Upper - c.Sensor.Lower)
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
