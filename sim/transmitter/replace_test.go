package transmitter_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"looptone/sim"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// replace has tr measure another process.
func replace(t *testing.T, tr *transmitter.Transmitter, now sim.Tick, m process.Model) {
	t.Helper()
	if err := tr.Replace(now, process.Config{Model: m}); err != nil {
		t.Fatal(err)
	}
}

// A process that is replaced is like one that changes by itself at that moment:
// damping, totals and controller go on from where they are.
func TestReplacedProcessIsLikeOneThatSteps(t *testing.T) {
	const moment = 30*sim.Second + 7
	stepping := complete()
	stepping.Process = process.Config{Model: process.Step{Before: 40, After: 60, Start: moment.Duration() + time.Nanosecond}}
	replaced := complete()
	replaced.Process = process.Config{Model: process.Constant(40)}
	a, b := start(t, stepping), start(t, replaced)
	before := b.Outputs()
	b.To(moment)
	if diff := cmp.Diff(before[0], b.Outputs()[0]); diff != "" {
		t.Fatalf("the process moved:\n%s", diff)
	}
	replace(t, b, moment, process.Constant(60))
	for now := moment; now < 90*sim.Second; now += sim.Second / 7 {
		a.To(now)
		b.To(now)
		if diff := cmp.Diff(a.Outputs(), b.Outputs()); diff != "" {
			t.Fatalf("at %v, that which steps -, that which was replaced +:\n%s", now.Duration(), diff)
		}
	}
}

// The moment on the grid at which it is replaced does not matter.
func TestReplaceBetweenGridPoints(t *testing.T) {
	var first []transmitter.Output
	for _, after := range []sim.Tick{0, 1, sim.Second / 20, sim.Second/10 - 1} {
		tr := start(t, complete())
		replace(t, tr, 5*sim.Second+after, process.Constant(33))
		tr.To(9 * sim.Second)
		if first == nil {
			first = tr.Outputs()
		}
		if diff := cmp.Diff(first, tr.Outputs()); diff != "" {
			t.Errorf("%v behind a grid point:\n%s", after.Duration(), diff)
		}
	}
}

// A process that followed a valve follows it no longer, until it is told to again;
// whoever follows that transmitter goes on.
func TestReplacedProcessFollowsNoValve(t *testing.T) {
	valve := start(t, pressure(process.Constant(25)))
	tr := start(t, pressure(lagging{Full: 100, TimeS: 0.01}))
	other := start(t, pressure(lagging{Full: 100, TimeS: 0.01}))
	tr.Follow(valve)
	other.Follow(tr)
	tr.To(10 * sim.Second)
	near(t, "with the valve", tr.PercentOfRange(), 25, 1e-9)
	replace(t, tr, 10*sim.Second, lagging{Full: 80, TimeS: 0.01})
	tr.To(20 * sim.Second)
	near(t, "without", tr.PercentOfRange(), 80, 1e-9)
	near(t, "the follower's", other.PercentOfRange(), 80, 1e-9)
	tr.Follow(valve)
	tr.To(30 * sim.Second)
	near(t, "with the valve again", tr.PercentOfRange(), 20, 1e-9)
}

// A process in a unit of its own is converted, and one that cannot be is refused.
func TestReplaceConverts(t *testing.T) {
	c := pressure(process.Constant(0.25))
	c.Sensor.Scale = transmitter.Scale{Upper: 10, Unit: bar}
	c.Range = transmitter.Scale{Upper: 10, Unit: bar}
	tr := start(t, c)
	tank := process.Tank{Shape: process.StandingCylinder, VolumeM3: 10, HeightM: 5, DensityKgM3: 1000, LevelPercent: 100}
	replace(t, tr, 0, tank)
	tr.To(sim.Second)
	near(t, "value", tr.Value(), 0.4903325, 1e-9)
	cfg, outputs := tr.Config(), tr.Outputs()
	err := tr.Replace(sim.Second, process.Config{Model: process.Constant(1), Noise: -1})
	sentence(t, err, "process.noise: got -1, want 0 or more")
	if diff := cmp.Diff(cfg, tr.Config()); diff != "" {
		t.Errorf("settings before -, after +:\n%s", diff)
	}
	if diff := cmp.Diff(outputs, tr.Outputs()); diff != "" {
		t.Errorf("outputs before -, after +:\n%s", diff)
	}
}

// A counting model notes how its course is stepped.
type counting struct {
	process.Constant
	steps *[]float64
}

func (c counting) Course() process.Course { return c }

func (c counting) Step(_ sim.Tick, dt, _ float64) float64 {
	*c.steps = append(*c.steps, dt)
	return float64(c.Constant)
}

// A process begins where it comes in, with a step of 0, and goes on by the grid.
func TestReplacedProcessBegins(t *testing.T) {
	tr := start(t, pressure(process.Constant(25)))
	var steps []float64
	replace(t, tr, 5*sim.Second+7, counting{30, &steps})
	tr.To(5*sim.Second + sim.Second/5)
	if diff := cmp.Diff([]float64{0, 0.1, 0.1}, steps); diff != "" {
		t.Errorf("steps want -, got +:\n%s", diff)
	}
}
