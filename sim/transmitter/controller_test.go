package transmitter_test

import (
	"math"
	"testing"
	"time"

	"looptone/sim"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// regulating has a controller whose output is the loop current.
func regulating(model process.Model, controller transmitter.Controller) transmitter.Config {
	cfg := pressure(model)
	cfg.Controller = &controller
	cfg.Source = transmitter.ManipulatedVariable
	return cfg
}

func manipulated(t *testing.T, tr *transmitter.Transmitter, what string, want, tolerance float64) {
	t.Helper()
	near(t, what, output(t, tr, "controller"), want, tolerance)
}

// PI on a first-order plant, with the integral time at the plant's time constant
// τ: pole and zero cancel, and the closed loop is of first order with the time
// constant τ/(K·Kp). The valve is that of the transmitter's own process, so that
// the current closes the loop; the two grid points or so by which it is late are
// what remains, and they vanish with the grid.
//
// Source: common practice (pole-zero cancellation).
func TestPIOnAFirstOrderPlant(t *testing.T) {
	const tau, gain, plant, setPoint = 10.0, 4.0, 0.9, 20.0
	const closed = tau / (gain * plant)
	for _, grid := range []time.Duration{10 * time.Millisecond, 100 * time.Millisecond} {
		cfg := regulating(lagging{Full: 100 * plant, TimeS: tau},
			transmitter.Controller{Mode: transmitter.Auto, Gain: gain, IntegralS: tau})
		cfg.Grid = grid
		tr := start(t, cfg)
		tr.Follow(tr)
		set(t, tr, 0, func(c *transmitter.Config) { c.Controller.SetPoint = setPoint })
		manipulated(t, tr, "kick of the set point", gain*setPoint, 1e-9)
		for _, after := range []float64{0.5, 1, 2, 3, 5, 8} {
			tr.To(sim.Ticks(time.Duration(after * closed * float64(time.Second))))
			want := setPoint * (1 - math.Exp(-after))
			near(t, "process variable", tr.PercentOfRange(), want, setPoint*2*grid.Seconds()/closed)
			// The plant is where it is by what the controller has put out.
			u := (want + (setPoint-want)*tau/closed) / plant
			manipulated(t, tr, "manipulated variable", u, gain*setPoint*2*grid.Seconds()/closed)
		}
		tr.To(200 * sim.Second)
		near(t, "at last", tr.PercentOfRange(), setPoint, 1e-9)
	}
}

// P alone leaves an offset: the plant goes to K·Kp/(1+K·Kp) of the set point, with
// the time constant τ/(1+K·Kp).
//
// Source: common practice (any textbook of control).
func TestPOnAFirstOrderPlant(t *testing.T) {
	const tau, gain, setPoint = 10.0, 3.0, 20.0
	cfg := regulating(lagging{Full: 100, TimeS: tau}, transmitter.Controller{Mode: transmitter.Auto, Gain: gain})
	cfg.Grid = 10 * time.Millisecond
	tr := start(t, cfg)
	tr.Follow(tr)
	set(t, tr, 0, func(c *transmitter.Config) { c.Controller.SetPoint = setPoint })
	for _, after := range []float64{1, 2, 4} {
		tr.To(sim.Ticks(time.Duration(after * tau / (1 + gain) * float64(time.Second))))
		near(t, "process variable", tr.PercentOfRange(), setPoint*gain/(1+gain)*(1-math.Exp(-after)), 0.1)
	}
	tr.To(200 * sim.Second)
	near(t, "at last", tr.PercentOfRange(), 15, 1e-9)
}

// With a constant error of 10 % a PI controller puts out K·10 at once and as much
// again after every integral time.
//
// Source: common practice (the meaning of the integral time).
func TestIntegralTime(t *testing.T) {
	for _, direct := range []bool{false, true} {
		c := transmitter.Controller{Mode: transmitter.Auto, Direct: direct, SetPoint: 50, Manual: 20, Gain: 1.5, IntegralS: 30}
		tr := start(t, regulating(process.Constant(50), c))
		manipulated(t, tr, "begin", 20, 0)
		step := 10.0
		if direct {
			step = -10
		}
		set(t, tr, 0, func(c *transmitter.Config) { c.Controller.SetPoint += step })
		manipulated(t, tr, "at once", 35, 1e-12)
		near(t, "loop current", tr.LoopCurrentMA(), 4+0.16*35, 1e-12)
		tr.To(30 * sim.Second)
		manipulated(t, tr, "after the integral time", 50, 1e-9)
		tr.To(90 * sim.Second)
		manipulated(t, tr, "after three", 80, 1e-9)
	}
}

// A step of the process variable, seen as a ramp of one grid step, makes the
// derivative K·N·Δ at most, which dies away with the time constant Td/N; a ramp
// makes it K·Td times its slope.
//
// Source: common practice (derivative filter with N = 10).
func TestDerivative(t *testing.T) {
	const gain, td, n = 1.2, 5.0, 10.0
	for _, direct := range []bool{false, true} {
		sign := -1.0
		if direct {
			sign = 1
		}
		c := transmitter.Controller{Mode: transmitter.Auto, Direct: direct, SetPoint: 40, Manual: 50, Gain: gain, DerivativeS: td}
		cfg := regulating(process.Step{Before: 40, After: 42, Start: 10 * time.Second}, c)
		cfg.Grid = 10 * time.Millisecond
		tr := start(t, cfg)
		tr.To(10*sim.Second - 1)
		manipulated(t, tr, "before", 50, 0)
		for _, after := range []float64{0, 0.25, 0.5, 1, 2} {
			tr.To(sim.Ticks(time.Duration((10 + after) * float64(time.Second))))
			d := gain * n * 2 * math.Exp(-after/(td/n))
			manipulated(t, tr, "after the step", 50+sign*(gain*2+d), gain*n*2*0.011) // half a grid step of td/n
		}

		ramp := regulating(process.Ramp{From: 40, To: 60, Length: 40 * time.Second}, c)
		tr = start(t, ramp)
		tr.To(20 * sim.Second)
		manipulated(t, tr, "on the ramp", 50+sign*(gain*10+gain*td*0.5), 1e-9)
		at := output(t, tr, "controller")
		set(t, tr, 20*sim.Second, func(c *transmitter.Config) { c.Controller.SetPoint += 3 })
		manipulated(t, tr, "a set point kicks the proportional part alone", at-sign*gain*3, 1e-9)
	}
}

// A derivative time far shorter than the grid still makes, over the grid step in
// which a jump is seen, the area K·Td·Δ that it stands for.
func TestDerivativeShorterThanTheGrid(t *testing.T) {
	c := transmitter.Controller{Mode: transmitter.Auto, SetPoint: 40, Manual: 50, Gain: 2, DerivativeS: 0.01}
	tr := start(t, regulating(process.Step{Before: 40, After: 41, Start: time.Second}, c))
	tr.To(sim.Second)
	manipulated(t, tr, "at the step", 50-2-2*0.01/0.1, 1e-9)
	tr.To(sim.Second + sim.Second/10)
	manipulated(t, tr, "one grid point later", 48, 1e-9)
}

// The integral stops where the output meets its limit, so that the output leaves
// it in the moment in which the error lets it.
//
// Source: common practice (anti-windup by clamped integration).
func TestNothingWindsUp(t *testing.T) {
	c := transmitter.Controller{Mode: transmitter.Auto, SetPoint: 50, Manual: 30, Gain: 1, IntegralS: 5, Lower: 10, Upper: 90}
	cfg := regulating(process.Playback{Points: []process.Sample{
		{At: 599900 * time.Millisecond, Value: 20}, {At: 600 * time.Second, Value: 55},
		{At: 1200 * time.Second, Value: 55}, {At: 1200100 * time.Millisecond, Value: 45},
	}}, c)
	tr := start(t, cfg)
	tr.To(300 * sim.Second)
	manipulated(t, tr, "at the upper limit", 90, 0)
	tr.To(600 * sim.Second)
	// The integral stood at 90 − 30, and the step is seen as a ramp.
	manipulated(t, tr, "at the step", 60-5+12.5*0.1/5, 1e-9)
	tr.To(1200 * sim.Second)
	manipulated(t, tr, "at the lower limit", 10, 0)
	tr.To(1200*sim.Second + sim.Second/10)
	manipulated(t, tr, "off the lower limit", 15+5, 1e-9)
}

// From Auto to Manual the output stays, unless it is set to another one then; from
// Manual to Auto the controller begins at the manual one, and so it does at power-up.
func TestBumplessTransfer(t *testing.T) {
	c := transmitter.Controller{Mode: transmitter.Auto, SetPoint: 60, Manual: 25, Gain: 2, IntegralS: 10, DerivativeS: 2}
	tr := start(t, regulating(process.Ramp{From: 50, To: 70, Length: time.Minute}, c))
	manipulated(t, tr, "at power-up", 25, 0)
	tr.To(20 * sim.Second)
	out := output(t, tr, "controller")
	if got := tr.Config().Controller.Manual; got != out {
		t.Errorf("got a manual value of %v in Auto, want %v, the output", got, out)
	}

	set(t, tr, 20*sim.Second, func(c *transmitter.Config) { c.Controller.Mode = transmitter.Manual })
	manipulated(t, tr, "Auto to Manual", out, 0)
	tr.To(30 * sim.Second)
	manipulated(t, tr, "held", out, 0)

	set(t, tr, 30*sim.Second, func(c *transmitter.Config) { c.Controller.Manual = 47 })
	manipulated(t, tr, "set by hand", 47, 0)
	set(t, tr, 30*sim.Second, func(c *transmitter.Config) { c.Controller.Mode = transmitter.Auto })
	manipulated(t, tr, "Manual to Auto", 47, 1e-12)
	tr.To(30*sim.Second + sim.Second/10)
	if got := output(t, tr, "controller"); got == 47 || math.Abs(got-47) > 0.5 {
		t.Errorf("one grid point later: got %v, want a little off 47", got)
	}

	set(t, tr, 31*sim.Second, func(c *transmitter.Config) { c.Controller.Mode, c.Controller.Manual = transmitter.Off, 12 })
	manipulated(t, tr, "off", 12, 0)
	set(t, tr, 31*sim.Second, func(c *transmitter.Config) {
		c.Controller.Mode, c.Range.Upper = transmitter.Auto, 200 // the process variable halves
	})
	manipulated(t, tr, "on, with another range", 12, 1e-12)
}

// New settings of a controller in Auto do not move its output.
func TestBumplessSettings(t *testing.T) {
	c := transmitter.Controller{Mode: transmitter.Auto, SetPoint: 60, Manual: 40, Gain: 2, IntegralS: 50, DerivativeS: 3}
	tr := start(t, regulating(process.Ramp{From: 50, To: 70, Length: time.Minute}, c))
	for i, change := range []func(c *transmitter.Controller){
		func(c *transmitter.Controller) { c.Gain = 0.5 },
		func(c *transmitter.Controller) { c.IntegralS = 7 },
		func(c *transmitter.Controller) { c.DerivativeS = 20 },
		func(c *transmitter.Controller) { c.DerivativeS = 0 },
		func(c *transmitter.Controller) { c.Direct = true },
		func(c *transmitter.Controller) { c.Upper = 99 },
		func(c *transmitter.Controller) { c.Manual = 900 }, // which counts in Manual
		func(c *transmitter.Controller) {},
	} {
		now := sim.Tick(2*i+5) * sim.Second
		tr.To(now)
		before := output(t, tr, "controller")
		set(t, tr, now, func(c *transmitter.Config) { change(c.Controller) })
		manipulated(t, tr, "after a setting", before, 1e-9)
		tr.To(now + sim.Second/10)
		manipulated(t, tr, "one grid point later", before, 0.5)
	}

	before, now := output(t, tr, "controller"), tr.At()
	set(t, tr, now, func(c *transmitter.Config) { c.Controller.Gain, c.Controller.SetPoint = 3, 61 })
	manipulated(t, tr, "gain and set point", before-3, 1e-9) // direct
}

// A limit that comes nearer takes the integral with it.
func TestLimitsThatMove(t *testing.T) {
	c := transmitter.Controller{Mode: transmitter.Auto, SetPoint: 50, Manual: 80, Gain: 1, IntegralS: 10}
	tr := start(t, regulating(process.Constant(50), c))
	set(t, tr, sim.Second, func(c *transmitter.Config) { c.Controller.Upper = 60 })
	manipulated(t, tr, "at the new limit", 60, 0)
	set(t, tr, sim.Second, func(c *transmitter.Config) { c.Controller.SetPoint = 45 })
	manipulated(t, tr, "off it at once", 55, 1e-12)
	set(t, tr, sim.Second, func(c *transmitter.Config) { c.Controller.Mode = transmitter.Manual })
	manipulated(t, tr, "by hand", 55, 1e-12)
	sentence(t, tr.Set(sim.Second, func(c *transmitter.Config) { c.Controller.Manual = 61 }),
		"controller.manual_percent: got 61, want 0 to 60")
	set(t, tr, sim.Second, func(c *transmitter.Config) { c.Controller.Mode = transmitter.Auto })
	set(t, tr, sim.Second, func(c *transmitter.Config) { c.Controller.Mode, c.Controller.Upper = transmitter.Manual, 30 })
	manipulated(t, tr, "by hand, with a nearer limit", 30, 0)
}

// The current follows what it is told to, in every mode of the controller.
func TestSource(t *testing.T) {
	c := transmitter.Controller{Mode: transmitter.Manual, SetPoint: 50, Manual: 30, Gain: 1}
	tr := start(t, regulating(process.Constant(75), c))
	near(t, "manipulated variable", tr.LoopCurrentMA(), 8.8, 1e-12)
	near(t, "percent of range", tr.PercentOfRange(), 75, 0)
	set(t, tr, 0, func(c *transmitter.Config) { c.Source = transmitter.ProcessVariable })
	near(t, "process variable", tr.LoopCurrentMA(), 16, 1e-12)
}

// A controller that was without a process variable begins where it was, and knows
// nothing of how fast that moved before.
func TestControllerThatWasWithoutAnInput(t *testing.T) {
	c := transmitter.Controller{Mode: transmitter.Auto, SetPoint: 50, Manual: 60, Gain: 1, DerivativeS: 10}
	ramp := process.Ramp{From: 30, To: 50, Length: 10 * time.Second}
	tr := start(t, regulating(broken{ramp, 9 * sim.Second, 12 * sim.Second}, c))
	tr.To(9*sim.Second - 1)
	out := output(t, tr, "controller")
	tr.To(20 * sim.Second)
	manipulated(t, tr, "at the set point", out, 1e-9)
}
