package transmitter

import (
	"math"
	"testing"
)

// Source: NAMUR NE 43, as summarised at industryhub.site/en/standards/namur-ne-43
// (a failure is above 21.0 mA).
func TestFailureCurrentStandsForNoNumber(t *testing.T) {
	c := &current{Current: Current{}.withDefaults()}
	if got := c.Step(0.1, math.NaN()); got != 21.5 || got <= 21.0 {
		t.Errorf("got %v mA, want 21.5 mA", got)
	}
	if c.saturated {
		t.Error("got saturated, want a failure not to count as that")
	}
	c.Mode = Fixed
	if got := c.Step(0.1, math.NaN()); got != 4 {
		t.Errorf("parked: got %v mA, want 4 mA", got)
	}
}
