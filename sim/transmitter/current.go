package transmitter

import (
	"cmp"
	"fmt"
	"math"

	"looptone/sim/setting"
)

// Levels of the loop current in mA. A parked transmitter holds 4 mA, the live
// zero. The saturation limits are the ends of the band that means a
// measurement; the failure current lies outside it, above 21 mA.
//
// Source: NAMUR NE 43, as summarised at industryhub.site/en/standards/namur-ne-43
// and zeroinstrument.com (3.8 to 20.5 mA; failure below 3.6 or above 21.0 mA);
// common practice (4-20 mA, parked at 4 mA).
const (
	ZeroMA            = 4.0
	FullMA            = 20.0
	LowerSaturationMA = 3.8
	UpperSaturationMA = 20.5
	FailureMA         = 21.5
)

// Nothing is set that a transmitter on two wires cannot do: it lives on a few mA,
// and its output stage ends a little above 20.
//
// Source: common practice.
const (
	LeastMA = 3.0
	MostMA  = 25.0
)

// CurrentMode says what the loop current does.
type CurrentMode uint8

const (
	Modulated CurrentMode = iota // it follows the percentage
	Fixed                        // it is parked at 4 mA, or held for a test
)

// Current is the analog output. Levels that are 0 stand for the defaults.
type Current struct {
	Mode             CurrentMode
	HeldMA           float64 // a fixed current; 0 is parked
	LowerMA, UpperMA float64 // saturation limits
	FailureMA        float64 // stands for an input that is not a number
	Converter        Converter
	Trim             Trim // of what the converter is told, in mA
}

// A Converter is the D/A converter that sets the current, with what is wrong with
// it: the loop carries Gain times what it is told, plus Offset mA. A Gain of 0
// stands for 1.
type Converter struct{ Gain, Offset float64 }

func (c Current) withDefaults() Current {
	c.HeldMA = cmp.Or(c.HeldMA, ZeroMA)
	c.LowerMA = cmp.Or(c.LowerMA, LowerSaturationMA)
	c.UpperMA = cmp.Or(c.UpperMA, UpperSaturationMA)
	c.FailureMA = cmp.Or(c.FailureMA, FailureMA)
	c.Converter.Gain = cmp.Or(c.Converter.Gain, 1)
	c.Trim = c.Trim.withDefaults()
	return c
}

// check wants all of 4-20 mA between the limits, and a failure current that
// cannot be taken for a measurement.
func (c Current) check() error {
	if err := setting.First(
		setting.Within("output.saturation_ma", c.LowerMA, LeastMA, MostMA),
		setting.Within("output.saturation_ma", c.UpperMA, LeastMA, MostMA),
		setting.Within("output.failure_ma", c.FailureMA, LeastMA, MostMA),
		setting.Within("output.fixed_ma", c.HeldMA, LeastMA, MostMA),
		setting.Positive("output.converter_gain", c.Converter.Gain),
		setting.Number("output.converter_offset_ma", c.Converter.Offset),
		c.Trim.check("output.trim_gain", "output.trim_offset_ma")); err != nil {
		return err
	}
	if c.LowerMA > ZeroMA || c.UpperMA < FullMA {
		return setting.Refuse("output.saturation_ma", fmt.Sprintf("%g to %g mA", c.LowerMA, c.UpperMA),
			"a lower limit up to %g mA and an upper one from %g mA on", ZeroMA, FullMA)
	}
	if c.FailureMA >= c.LowerMA && c.FailureMA <= c.UpperMA {
		return setting.Refuse("output.failure_ma", fmt.Sprintf("%g mA", c.FailureMA),
			"less than %g or more than %g mA, the saturation limits", c.LowerMA, c.UpperMA)
	}
	return nil
}

// current does what [Current] says: percent to the mA that the converter is to
// set.
type current struct {
	Current
	saturated bool // a limit holds the current back
}

func (c *current) Step(_, in float64) float64 {
	c.saturated = false
	switch {
	case c.Mode == Fixed:
		return c.HeldMA
	case math.IsNaN(in):
		return c.FailureMA
	}
	ma := ZeroMA + in*((FullMA-ZeroMA)/100)
	switch {
	case ma < c.LowerMA:
		c.saturated = true
		return c.LowerMA
	case ma > c.UpperMA:
		c.saturated = true
		return c.UpperMA
	}
	return ma
}

// converter is the D/A converter behind its trim: the mA it is to set to those that
// the loop carries, which are never negative.
type converter struct{ line linear }

func (c *converter) set(to *Current) {
	own, trim := to.Converter, to.Trim
	c.line = linear{own.Gain * trim.Gain, own.Gain*trim.Offset + own.Offset}
}

func (c *converter) Step(dt, ma float64) float64 { return notNegative(c.line.Step(dt, ma)) }
