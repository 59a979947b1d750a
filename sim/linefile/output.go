package linefile

import (
	"fmt"

	"looptone/frame/userfile"
	"looptone/sim/setting"
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
		c.Current.HeldMA = t.Within("fixed_ma", transmitter.LeastMA, transmitter.MostMA, transmitter.ZeroMA)
	}
	c.Current.LowerMA, c.Current.UpperMA = saturation(t)
	c.Current.FailureMA = t.Within("failure_ma", transmitter.LeastMA, transmitter.MostMA, transmitter.FailureMA)
	c.Current.Converter = transmitter.Converter{
		Gain:   t.AboveZero("converter_gain", mostGain, 1),
		Offset: t.Number("converter_offset_ma", 0),
	}
}

// saturation reads the saturation limits. The transmitter does not see that a zero
// was given.
func saturation(t *userfile.Table) (lower, upper float64) {
	const key = "saturation_ma"
	lower, upper, ok := pair(t, key, "[3.8, 20.5]")
	if !ok {
		return transmitter.LowerSaturationMA, transmitter.UpperSaturationMA
	}
	if min(lower, upper) < transmitter.LeastMA || max(lower, upper) > transmitter.MostMA {
		t.Refuse(key, setting.Refuse("output."+key, fmt.Sprintf("%g to %g mA", lower, upper),
			"limits from %g to %g mA, for instance [3.8, 20.5]", transmitter.LeastMA, transmitter.MostMA))
	}
	return lower, upper
}
