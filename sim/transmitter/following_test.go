package transmitter_test

import (
	"math"
	"testing"
	"time"

	"looptone/sim"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// A valve is closed at 4 mA and below, and open at 20 mA and above.
func TestCurrentOpensTheValve(t *testing.T) {
	for percent, want := range map[float64]float64{-50: 0, -1: 0, 0: 0, 25: 25, 50: 50, 100: 100, 102: 100, 200: 100} {
		valve := start(t, pressure(process.Constant(percent)))
		tr := start(t, pressure(lagging{Full: 100, TimeS: 0.01}))
		tr.Follow(valve)
		tr.To(10 * sim.Second)
		near(t, "value", tr.PercentOfRange(), want, 1e-9)
	}
}

// At line time 0 a process that settles at once is where the valve holds it, in a
// chain of any length, whoever joins or is asked first.
func TestFollowersBeginSettled(t *testing.T) {
	orders := [][]int{{1, 2, 3}, {3, 2, 1}, {2, 3, 1}, {2, 1, 3}}
	for _, order := range orders {
		chain := []*transmitter.Transmitter{start(t, pressure(process.Constant(40)))}
		for range 3 {
			cfg := pressure(process.Thermal{Ambient: 10, Rise: 50}) // 30, 25 and 22.5 of 40
			cfg.DampingS = 60
			cfg.Controller = &transmitter.Controller{Mode: transmitter.Auto, Manual: 77, Gain: 1, IntegralS: 1}
			chain = append(chain, start(t, cfg))
		}
		for _, i := range order {
			chain[i].Follow(chain[i-1])
		}
		for i, want := range []float64{40, 30, 25, 22.5} {
			near(t, "percent", chain[i].PercentOfRange(), want, 1e-12)
			if i > 0 {
				near(t, "controller", output(t, chain[i], "controller"), 77, 0)
			}
		}
	}
}

// What was set at line time 0 stays, and totals do.
func TestSettlingKeepsWhatWasSet(t *testing.T) {
	tr := start(t, metering(lagging{Begin: 25, Full: 100, TimeS: 1}))
	tr.SetTotals(0, transmitter.Totals{Net: 5, Forward: 6})
	set(t, tr, 0, func(c *transmitter.Config) { c.Trim.Offset = 3 })
	tr.Follow(tr)
	if got, want := tr.Totals(), (transmitter.Totals{Net: 5, Forward: 6}); got != want {
		t.Errorf("got totals %+v, want %+v", got, want)
	}
	near(t, "value", tr.Value(), 28, 1e-12)
}

// A transmitter whose process cannot settle on its own current begins where one
// round from the open valve brings it: closed, then open.
func TestRingOfValvesBeginsSomewhere(t *testing.T) {
	cfg := pressure(process.Thermal{Ambient: 100, Rise: -100})
	tr := start(t, cfg)
	tr.Follow(tr)
	near(t, "percent", tr.PercentOfRange(), 100, 0)
	tr.To(sim.Second / 10)
	near(t, "percent at the next grid point", tr.PercentOfRange(), 0, 0)

	again := start(t, cfg)
	again.Follow(start(t, pressure(process.Constant(0)))) // closed
	near(t, "percent, closed", again.PercentOfRange(), 100, 0)
	again.Follow(again)
	near(t, "percent after two rounds from the open valve", again.PercentOfRange(), 0, 0)
}

// What opens the valve is what the loop carries, whatever the transmitter believes.
func TestWireOpensTheValve(t *testing.T) {
	cfg := pressure(process.Constant(50))
	cfg.Current.Converter.Offset = 1.6
	valve := start(t, cfg)
	tr := start(t, pressure(lagging{Full: 100, TimeS: 0.01}))
	tr.Follow(valve)
	tr.To(10 * sim.Second)
	near(t, "value", tr.PercentOfRange(), 60, 1e-9)
	setMode(t, valve, 10*sim.Second, transmitter.Fixed) // parked: 4 mA, and 5.6 in the loop
	tr.To(20 * sim.Second)
	near(t, "value, parked", tr.PercentOfRange(), 10, 1e-9)
}

// A process sees the current of the grid point before: a change passes through a
// chain of three in two grid points, whoever is asked first.
func TestCurrentActsOneGridPointLater(t *testing.T) {
	const grid = sim.Second / 10
	fast := lagging{Full: 100, TimeS: 1e-6}
	for first := range 3 {
		a := start(t, pressure(process.Step{Before: 0, After: 100, Start: time.Second}))
		b, c := start(t, pressure(fast)), start(t, pressure(fast))
		c.Follow(b)
		b.Follow(a)
		chain := []*transmitter.Transmitter{a, b, c}
		for i, want := range [][3]float64{{0, 0, 0}, {100, 0, 0}, {100, 100, 0}, {100, 100, 100}} {
			now := sim.Second + sim.Tick(i-1)*grid
			chain[first].To(now)
			for j, tr := range chain {
				if tr.At() != now {
					t.Errorf("asked %d: transmitter %d is at %v, want %v", first, j, tr.At().Duration(), now.Duration())
				}
				near(t, "percent", tr.PercentOfRange(), want[j], 1e-9)
			}
		}
	}
}

// One that joins late is brought to the others.
func TestFollowLate(t *testing.T) {
	valve := start(t, pressure(process.Constant(40)))
	tr := start(t, pressure(lagging{Full: 100, TimeS: 1}))
	valve.To(5 * sim.Second)
	tr.Follow(valve)
	near(t, "value when it joins", tr.PercentOfRange(), 100*(1-math.Exp(-5)), 1e-9)
	if tr.At() != 5*sim.Second {
		t.Errorf("got the grid point %v, want 5 s", tr.At().Duration())
	}
	other := start(t, pressure(process.Constant(70)))
	tr.Follow(other) // instead
	valve.To(60 * sim.Second)
	near(t, "value", tr.PercentOfRange(), 70, 1e-9)
}

// Transmitters that nothing links do not wait for each other.
func TestUnlinkedMoveAlone(t *testing.T) {
	a, b := start(t, pressure(process.Constant(0))), start(t, pressure(process.Constant(0)))
	a.To(sim.Second)
	if b.At() != 0 {
		t.Errorf("got the grid point %v, want 0", b.At().Duration())
	}
}

// Each moves on a grid of its own.
func TestFollowOnAnotherGrid(t *testing.T) {
	slow := pressure(process.Step{Before: 0, After: 100, Start: 1500 * time.Millisecond})
	slow.Grid = time.Second
	valve := start(t, slow)
	tr := start(t, pressure(lagging{Full: 100, TimeS: 1e-6}))
	tr.Follow(valve)
	tr.To(2 * sim.Second)
	near(t, "in the moment in which the current moves", tr.PercentOfRange(), 0, 1e-9)
	tr.To(2*sim.Second + sim.Second/10)
	near(t, "one grid point later", tr.PercentOfRange(), 100, 1e-9)
}

// Two that drive each other's valve hand their values over at every grid point:
// each sees what the other was, not what it has just become.
func TestValvesThatDriveEachOther(t *testing.T) {
	a := start(t, pressure(lagging{Begin: 30, Full: 100, TimeS: 1e-6}))
	b := start(t, pressure(lagging{Begin: 70, Full: 100, TimeS: 1e-6}))
	a.Follow(b)
	b.Follow(a)
	for i := range sim.Tick(10) {
		a.To(i * sim.Second / 10)
		first, second := 30.0, 70.0
		if i%2 == 1 {
			first, second = second, first
		}
		near(t, "one", a.PercentOfRange(), first, 1e-9)
		near(t, "the other", b.PercentOfRange(), second, 1e-9)
	}
}
