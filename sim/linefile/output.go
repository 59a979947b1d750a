package linefile

import (
	"fmt"

	"looptone/frame/userfile"
	"looptone/sim/transmitter"
)

// output reads what the loop current follows, its levels, and what is wrong with
// its converter.
func output(t *userfile.Table, c *transmitter.Config) {
	source, given := t.Choice("source", "pv", "manipulated", "fixed")
	if given {
		t.Name += fmt.Sprintf(" with source %q", source)
	}
	switch source {
	case "manipulated":
		c.Source = transmitter.ManipulatedVariable
	case "fixed":
		t.Need("fixed_ma", "12.0")
		c.Current.Mode = transmitter.Fixed
		c.Current.HeldMA = t.AboveZero("fixed_ma", 100, transmitter.ZeroMA)
	}
	lower, upper, ok := pair(t, "saturation_ma", "[3.8, 20.5]")
	switch {
	case !ok:
		lower, upper = transmitter.LowerSaturationMA, transmitter.UpperSaturationMA
	case lower <= 0 || upper <= 0:
		t.RefuseValue("saturation_ma", "two numbers above 0, for instance [3.8, 20.5]")
	}
	c.Current.LowerMA, c.Current.UpperMA = lower, upper
	c.Current.FailureMA = t.AboveZero("failure_ma", 100, transmitter.FailureMA)
	c.Current.Converter = transmitter.Converter{
		Gain:   t.AboveZero("converter_gain", mostGain, 1),
		Offset: t.Number("converter_offset_ma", 0),
	}
}
