package transmitter_test

import (
	"math"
	"testing"
	"time"

	"looptone/sim"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// Without power the loop carries nothing and nothing stands behind a stage; what the
// transmitter would draw is known all the same.
func TestWithoutPower(t *testing.T) {
	tr := start(t, metering(process.Constant(50)))
	names := len(tr.Outputs())
	tr.Power(10*sim.Second+7, false)
	if tr.At() != 10*sim.Second {
		t.Errorf("got the grid point %v, want 10 s", tr.At().Duration())
	}
	near(t, "carried", tr.WireCurrentMA(), 0, 0)
	near(t, "wanted", tr.WantMA(), 16, 1e-12)
	outputs := tr.Outputs()
	for i, o := range outputs {
		want := math.NaN()
		switch o.Name {
		case "process":
			want = 50
		case "loop_current":
			want = 0
		}
		if one, ok := tr.Output(o.Name); !same(o.Value, want) || !ok || !same(one.Value, want) {
			t.Errorf("place %d, %s: got %v, and by name %v, want %v", i, o.Name, o.Value, one.Value, want)
		}
	}
	if len(outputs) != names {
		t.Errorf("%d outputs without power, %d with it", len(outputs), names)
	}
	set(t, tr, 20*sim.Second, func(c *transmitter.Config) { c.Range.Upper = 250 })
	near(t, "wanted after a setting", tr.WantMA(), 4+16*150.0/350, 1e-12)
	tr.Power(30*sim.Second, true)
	near(t, "carried with power", tr.WireCurrentMA(), tr.WantMA(), 0)
	near(t, "range with power", output(t, tr, "range"), 100*150.0/350, 1e-12)
}

func same(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }

// What is wanted is what the loop carries where there is power, the converter's error
// included.
func TestWantedIsWhatTheLoopCarries(t *testing.T) {
	cfg := pressure(process.Constant(50))
	cfg.Current.Converter.Offset = 1.6
	tr := start(t, cfg)
	near(t, "wanted", tr.WantMA(), 13.6, 1e-12)
	near(t, "carried", tr.WireCurrentMA(), 13.6, 1e-12)
	setMode(t, tr, 0, transmitter.Fixed)
	near(t, "wanted when parked", tr.WantMA(), 5.6, 1e-12)
}

// 60 m³/h for an hour, of which a quarter is without power: 45 m³.
func TestNothingIsAddedUpWithoutPower(t *testing.T) {
	tr := start(t, metering(process.Constant(50)))
	tr.Power(600*sim.Second, false)
	tr.Power(700*sim.Second, false) // which changes nothing
	tr.To(1000 * sim.Second)
	if got := tr.Totals().Net; math.Abs(got-10) > 1e-9 {
		t.Errorf("got a total of %v m³, want 10", got)
	}
	tr.Power(1500*sim.Second, true)
	tr.Power(1600*sim.Second, true)
	tr.To(3600 * sim.Second)
	totals(t, tr, 45, 45)
}

// A valve whose current is gone closes at the next grid point, one that is its own too.
func TestValveClosesWithoutPower(t *testing.T) {
	valve := start(t, pressure(process.Constant(80)))
	tr := start(t, pressure(lagging{Full: 100, TimeS: 1e-6}))
	own := start(t, pressure(lagging{Begin: 100, Full: 100, TimeS: 1e-6}))
	tr.Follow(valve)
	own.Follow(own)
	check := func(at sim.Tick, percent, ownPercent float64) {
		t.Helper()
		tr.To(at)
		own.To(at)
		near(t, "percent", tr.PercentOfRange(), percent, 1e-9)
		near(t, "percent of its own", own.PercentOfRange(), ownPercent, 1e-9)
	}
	check(sim.Second, 80, 100)
	valve.Power(sim.Second, false)
	own.Power(sim.Second, false)
	check(sim.Second, 80, 100)
	check(sim.Second+sim.Second/10, 0, 0)
	valve.Power(5*sim.Second, true)
	own.Power(5*sim.Second, true)
	check(5*sim.Second, 0, 0)
	check(5*sim.Second+sim.Second/10, 80, 0) // which stays closed by itself
}

// What is damped settles anew with the power, as it does when a transmitter is made.
func TestDampingBeginsAnewWithPower(t *testing.T) {
	cfg := pressure(process.Step{Before: 0, After: 100, Start: 100 * time.Millisecond})
	cfg.DampingS = 1000
	tr := start(t, cfg)
	tr.Power(sim.Second, true) // which it had
	near(t, "percent with power all the time", tr.PercentOfRange(), 100*-math.Expm1(-0.9/1000), 1e-9)
	tr.Power(sim.Second, false) // and at once, between two grid points:
	tr.Power(sim.Second, true)
	near(t, "current", tr.WireCurrentMA(), 20, 1e-9)
}

// Without power it is known what would be drawn with it.
func TestWantedWithoutPowerIsNotDamped(t *testing.T) {
	cfg := pressure(process.Step{Before: 100, After: 0, Start: 5 * time.Second})
	cfg.DampingS = 1000
	tr := start(t, cfg)
	tr.Power(sim.Second, false)
	near(t, "wanted", tr.WantMA(), 20, 1e-9)
	tr.To(5 * sim.Second)
	near(t, "wanted behind the step", tr.WantMA(), 4, 1e-9)
	tr.Power(6*sim.Second, true)
	near(t, "carried", tr.WireCurrentMA(), 4, 1e-9)
}

// A controller goes on from where it was, and has integrated nothing meanwhile.
func TestControllerRestsWithoutPower(t *testing.T) {
	cfg := regulating(process.Step{Before: 40, After: 30, Start: 6 * time.Second}, transmitter.Controller{Mode: transmitter.Auto, SetPoint: 50, Manual: 20, Gain: 1, IntegralS: 10})
	tr := start(t, cfg)
	tr.To(5 * sim.Second)
	near(t, "after 5 s", output(t, tr, "controller"), 25, 1e-9)
	tr.Power(5*sim.Second, false)
	tr.To(60 * sim.Second)
	near(t, "wanted without power", tr.WantMA(), 8, 1e-9)
	tr.Power(60*sim.Second, true)
	near(t, "with power again", output(t, tr, "controller"), 25, 1e-9)
	tr.To(65 * sim.Second)
	near(t, "5 s later", output(t, tr, "controller"), 35, 1e-9)
}
