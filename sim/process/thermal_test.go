package process_test

import (
	"math"
	"testing"
	"time"

	"looptone/sim/process"
)

// After one time constant a first-order lag has gone 1 − e⁻¹, 63.2 %, of its way,
// after two 86.5 %, after three 95.0 %, after five 99.3 %, on every grid.
//
// Source: common practice (any textbook of control).
func TestThermalAfterTimeConstants(t *testing.T) {
	model := process.Thermal{Ambient: 20, Rise: 100, TimeConstant: 30 * time.Second, Start: 20}
	for _, grid := range []time.Duration{10 * time.Millisecond, 100 * time.Millisecond, time.Second} {
		r, value := begin(model, grid)
		near(t, "at first", value, 20, 0)
		constant := int(model.TimeConstant / grid)
		gone := 0
		for _, after := range []struct {
			constants int
			percent   float64
		}{{1, 63.2}, {2, 86.5}, {3, 95.0}, {5, 99.3}} {
			value = r.forth((after.constants-gone)*constant, 1)
			gone = after.constants
			near(t, "as the textbook rounds it", value-20, after.percent, 0.05)
			near(t, "as the formula says", value, 120-100*math.Exp(-float64(gone)), 1e-9)
		}
	}
}

func TestThermalGoesWhereTheValveSays(t *testing.T) {
	model := process.Thermal{Ambient: 20, Rise: -8, TimeConstant: time.Second, Start: 90}
	r, value := begin(model, 100*time.Millisecond)
	near(t, "at first", value, 90, 0)
	near(t, "half open", r.forth(1000, 0.5), 16, 1e-9)
	near(t, "shut", r.forth(1000, 0), 20, 1e-9)
	model.TimeConstant = 0
	r, _ = begin(model, 100*time.Millisecond)
	near(t, "without a lag", r.forth(1, 1), 12, 0)
}
