package transmitter_test

import (
	"math"
	"math/big"
	"testing"
	"time"

	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// metering has a flow from -120 to 120 m³/h for -100 to 100 kPa, added up in m³.
func metering(model process.Model) transmitter.Config {
	cfg := pressure(model)
	cfg.Sensor.Lower = -250
	cfg.Range.Lower = -100
	cfg.UserUnit = &transmitter.Scale{Lower: -120, Upper: 120, Unit: cubicPerHour}
	cfg.Totaliser = &transmitter.Totaliser{Unit: cubicMetre}
	return cfg
}

func totals(t *testing.T, tr *transmitter.Transmitter, net, forward float64) {
	t.Helper()
	got := tr.Totals()
	near(t, "net total", got.Net, net, 1e-9*max(1, math.Abs(net)))
	near(t, "forward total", got.Forward, forward, 1e-9*max(1, forward))
	near(t, "output totaliser", output(t, tr, "totaliser"), got.Net, 0)
	near(t, "output totaliser_forward", output(t, tr, "totaliser_forward"), got.Forward, 0)
}

// 60 m³/h are 60 m³ in an hour.
func TestTotalsOfAConstantFlow(t *testing.T) {
	for _, grid := range []time.Duration{10 * time.Millisecond, 100 * time.Millisecond, time.Second} {
		cfg := metering(process.Constant(50))
		cfg.Grid = grid
		tr := start(t, cfg)
		totals(t, tr, 0, 0)
		tr.To(3600 * sim.Second)
		totals(t, tr, 60, 60)
	}
}

// A ramp from -120 to 120 m³/h in two hours brings back the 60 m³ that it took,
// in the moment in which it turns, which lies between two grid points.
func TestTotalsOfARampAreExact(t *testing.T) {
	tr := start(t, metering(process.Ramp{From: -90, To: 110, Length: 7201 * time.Second}))
	tr.To(7300 * sim.Second)
	// Triangles: 108 m³/h of reverse flow for 45 % of the ramp, 132 m³/h for the
	// rest, and 99 s at 132.
	backward, forward := 108*0.45*7201/2/3600, 132*0.55*7201/2/3600+132*99.0/3600
	totals(t, tr, forward-backward, forward)
}

// From -108 to 132 m³/h in one grid step: the flow turns after 45 % of it.
func TestFlowThatTurnsBetweenTwoGridPoints(t *testing.T) {
	cfg := metering(process.Ramp{From: -90, To: 110, Length: time.Second})
	cfg.Grid = time.Second
	tr := start(t, cfg)
	tr.To(sim.Second)
	totals(t, tr, 12.0/3600, 132*0.55/2/3600)
}

func TestTotalsOfReverseFlow(t *testing.T) {
	tr := start(t, metering(process.Constant(-50)))
	tr.To(3600 * sim.Second)
	totals(t, tr, -60, 0)
}

// Source: NIST Special Publication 811 (2008), appendix B.8 (1 US gallon is
// 3.785412 L); common practice (1 t is 1000 kg).
func TestTotalsInUnitsOfTheirOwn(t *testing.T) {
	const (
		gallon    unit.Code = 40
		tonne     unit.Code = 62
		kgPerMin  unit.Code = 74
		normalM3  unit.Code = 166
		normalLph unit.Code = 122
		stdFt3    unit.Code = 168
		stdFt3min unit.Code = 123
	)
	for _, tt := range []struct {
		flow, amount unit.Code
		want         float64 // of a flow of 60 in an hour
		tolerance    float64
	}{
		{cubicPerHour, gallon, 60 / 3.785412e-3, 1e-2},
		{kgPerMin, tonne, 3.6, 1e-9},
		{normalLph, normalM3, 0.06, 1e-12},
		{stdFt3min, stdFt3, 3600, 1e-6},
	} {
		cfg := metering(process.Constant(50))
		cfg.UserUnit.Unit, cfg.Totaliser.Unit = tt.flow, tt.amount
		tr := start(t, cfg)
		tr.To(3600 * sim.Second)
		near(t, tt.flow.String()+" in "+tt.amount.String(), tr.Totals().Net, tt.want, tt.tolerance)
	}
}

// A flow can be what the sensor measures.
func TestTotalsWithoutAUserUnit(t *testing.T) {
	const litrePerHour unit.Code = 138
	cfg := transmitter.Config{
		Process:   process.Config{Model: process.Constant(10)},
		Sensor:    transmitter.Sensor{Scale: transmitter.Scale{Lower: 0, Upper: 100, Unit: cubicPerHour}},
		Range:     transmitter.Scale{Lower: 0, Upper: 50000, Unit: litrePerHour},
		Totaliser: &transmitter.Totaliser{Unit: cubicMetre},
	}
	tr := start(t, cfg)
	tr.To(3600 * sim.Second)
	totals(t, tr, 10, 10)
}

func TestTotalsBeginAndAreSet(t *testing.T) {
	cfg := metering(process.Constant(50))
	cfg.Totaliser.Begin = transmitter.Totals{Net: 100, Forward: 250}
	tr := start(t, cfg)
	totals(t, tr, 100, 250)
	tr.To(1800 * sim.Second)
	totals(t, tr, 130, 280)
	tr.SetTotals(3600*sim.Second, transmitter.Totals{})
	totals(t, tr, 0, 0)
	tr.To(5400 * sim.Second)
	totals(t, tr, 30, 30)

	none := start(t, pressure(process.Constant(50)))
	none.SetTotals(0, transmitter.Totals{Net: 7})
	if got := none.Totals(); got != (transmitter.Totals{}) {
		t.Errorf("got totals %+v without a totaliser, want none", got)
	}
}

// A setting acts from its moment on: what has been added up stays, and in another
// unit stays the same amount.
func TestTotalsAndSettings(t *testing.T) {
	const litre unit.Code = 41
	tr := start(t, metering(process.Constant(50)))
	set(t, tr, 1800*sim.Second, func(c *transmitter.Config) { c.UserUnit.Lower, c.UserUnit.Upper = -240, 240 })
	totals(t, tr, 30, 30)
	tr.To(3600 * sim.Second)
	totals(t, tr, 90, 90)
	set(t, tr, 3600*sim.Second, func(c *transmitter.Config) { c.Totaliser.Unit = litre })
	totals(t, tr, 90000, 90000)
	set(t, tr, 3600*sim.Second, func(c *transmitter.Config) { c.Totaliser.Begin.Net = 7 })
	tr.To(5400 * sim.Second)
	totals(t, tr, 150000, 150000)
}

// A trickle on top of what a year brought: each step of 10 ms adds less than half
// of what float64 can hold apart there, so that a plain sum would stand still.
func TestTotalsLoseNothing(t *testing.T) {
	const steps = 1_000_000
	cfg := metering(process.Constant(3e-5))
	cfg.Grid = 10 * time.Millisecond
	cfg.Totaliser.Begin = transmitter.Totals{Net: 1051200, Forward: 1051200} // 120 m³/h for 365 days
	tr := start(t, cfg)
	flow, _ := tr.PrimaryVariable()
	tr.To(steps * 10 * sim.Millisecond)

	each := new(big.Float).Quo(big.NewFloat(flow*0.01), big.NewFloat(3600))
	want, _ := each.Mul(each, big.NewFloat(steps)).Float64()
	got := tr.Totals()
	near(t, "net total added", got.Net-1051200, want, 2e-10) // the spacing of float64 there
	near(t, "forward total added", got.Forward-1051200, want, 2e-10)
}
