package process_test

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"looptone/sim"
	"looptone/sim/process"
)

// water is a tank of that shape for 10 m³ of water, 2 m high, so that full is
// 19.6133 kPa.
func water(shape process.Shape) process.Tank {
	return process.Tank{Shape: shape, VolumeM3: 10, HeightM: 2, DensityKgM3: 1000}
}

const fullKPa = 1000 * 9.80665 * 2 / 1000

// A run steps a course over a grid.
type run struct {
	course process.Course
	grid   time.Duration
	now    sim.Tick
}

func begin(model process.Model, grid time.Duration) (r *run, value float64) {
	r = &run{course: model.Course(), grid: grid}
	return r, r.course.Step(0, 0, 1)
}

// forth is the value after so many steps with the valve open by that share.
func (r *run) forth(steps int, opening float64) (value float64) {
	for range steps {
		r.now += sim.Ticks(r.grid)
		value = r.course.Step(r.now, r.grid.Seconds(), opening)
	}
	return value
}

// filled is the share of the volume at a pressure.
func filled(tank process.Tank, kPa float64) float64 { return tank.Shape.Filled(kPa / fullKPa) }

// A column of 10 m of water presses with 98.0665 kPa.
//
// Source: BIPM, The International System of Units (standard acceleration 9.80665
// m/s²); conventional density of water, 1000 kg/m³.
func TestTankPressureOnTheBottom(t *testing.T) {
	tank := process.Tank{Shape: process.StandingCylinder, VolumeM3: 1, HeightM: 10, DensityKgM3: 1000, LevelPercent: 100}
	_, full := begin(tank, time.Second)
	near(t, "10 m of water, kPa", full, 98.0665, 1e-12)
	tank.LevelPercent = 25
	_, quarter := begin(tank, time.Second)
	near(t, "2.5 m of water, kPa", quarter, 98.0665/4, 1e-12)
	tank.HeightM, tank.VolumeM3, tank.LevelPercent = 0, math.Pi/2*1000, 100 // 20 m high, 10 m wide
	_, usual := begin(tank, time.Second)
	near(t, "20 m of water, kPa", usual, 2*98.0665, 1e-9)
}

// emptied is how long, counted from full, the level takes to fall to root², in
// units of the time in which the first outflow would empty the tank: the integral
// of dV/s from s to 1, with the volume V(s) of the shape as a polynomial.
//
// Source: from memory (Torricelli's law; the integrals of a tank's time to empty
// stand in textbooks of fluid mechanics: an upright cylinder takes twice as long
// as it would with its first outflow, a funnel 6/5, a sphere 8/5).
var emptied = map[process.Shape]func(s float64) float64{
	process.StandingCylinder: func(s float64) float64 { return 2 - 2*s },
	process.ConeDown:         func(s float64) float64 { return 6. / 5 * (1 - math.Pow(s, 5)) },
	process.ConeUp: func(s float64) float64 {
		return 16./5 - 6*(s-2./3*math.Pow(s, 3)+math.Pow(s, 5)/5)
	},
	process.Sphere: func(s float64) float64 { return 8./5 - (4*math.Pow(s, 3) - 12./5*math.Pow(s, 5)) },
	process.LyingCylinder: func(s float64) float64 {
		return 16 / (3 * math.Pi) * math.Pow(1-s*s, 1.5)
	},
}

func TestTankEmptiesAsTorricelliSays(t *testing.T) {
	const grid, tolerance = 100 * time.Millisecond, 2e-3 // s; where walls meet, a step's shape counts
	for shape, after := range emptied {
		tank := water(shape)
		tank.LevelPercent, tank.OutflowM3H = 100, 36 // 10 m³ in 1000 s
		r, full := begin(tank, grid)
		near(t, shape.String()+", full, kPa", full, fullKPa, 1e-12)
		for range 10 {
			value := r.forth(900, 1)
			root := math.Sqrt(value / fullKPa)
			if root < 0.02 {
				break
			}
			near(t, shape.String()+", seconds since it was full", 1000*after(root), r.now.Seconds(), tolerance)
		}
		left := int(1000*after(0)/grid.Seconds()) - int(r.now/sim.Ticks(grid))
		if value := r.forth(left+10, 1); value > 1e-6*fullKPa {
			t.Errorf("%v after its time to empty: got %v kPa, want none", shape, value)
		}
		near(t, shape.String()+", empty, kPa", r.forth(1000, 1), 0, 1e-12)
	}
}

// The root of the level of an upright cylinder falls in a straight line.
func TestTankWithUprightWallsIsExact(t *testing.T) {
	tank := water(process.StandingCylinder)
	tank.LevelPercent, tank.OutflowM3H = 81, 36
	r, _ := begin(tank, 100*time.Millisecond)
	for range 8 {
		value := r.forth(1000, 1)
		near(t, "root of the level", math.Sqrt(value/fullKPa), 0.9-r.now.Seconds()/2000, 1e-12)
	}
}

// With a closed outlet the volume grows by what flows in, up to the brim.
func TestTankKeepsWhatFlowsIn(t *testing.T) {
	const grid = 100 * time.Millisecond
	for _, shape := range process.Shapes() {
		tank := water(shape)
		tank.InflowM3H, tank.OutflowM3H = 36, 100
		r, value := begin(tank, grid)
		near(t, shape.String()+", empty, kPa", value, 0, 0)
		for i := range 10 {
			near(t, shape.String()+", share of the volume", filled(tank, value), float64(i)/10, 1e-8)
			value = r.forth(1000, 0)
		}
		near(t, shape.String()+", full, kPa", value, fullKPa, 1e-9)
		near(t, shape.String()+", running over, kPa", r.forth(100, 0), fullKPa, 1e-9)
	}
}

// What has flowed in and out, added up over steps ten times finer, is what
// the volume has changed by.
func TestTankMassBalance(t *testing.T) {
	const seconds, fine = 400, 1e-2
	for _, shape := range process.Shapes() {
		tank := water(shape)
		tank.LevelPercent, tank.InflowM3H, tank.OutflowM3H = 60, 12, 36
		coarse, _ := begin(tank, 100*time.Millisecond)
		got := filled(tank, coarse.forth(seconds*10, 0.7))

		volume := shape.Filled(0.6)
		for range int(seconds / fine) {
			// The midpoint method, with the geometry turned round.
			rate := func(v float64) float64 { return (12 - 0.7*36*math.Sqrt(heightOf(shape, v))) / 36000 }
			volume += fine * rate(volume+fine/2*rate(volume))
		}
		near(t, shape.String()+", share of the volume", got, volume, 1e-9)
	}
}

// heightOf is the share of the height up to which a share of the volume reaches,
// by halving.
func heightOf(shape process.Shape, filled float64) float64 {
	lower, upper := 0.0, 1.0
	for range 50 {
		if middle := (lower + upper) / 2; shape.Filled(middle) < filled {
			lower = middle
		} else {
			upper = middle
		}
	}
	return lower
}

// In the end as much flows out as in: √(level) is inflow over outflow, on either
// pipe's valve, also in a vessel that a grid step could empty several times over.
func TestTankSettles(t *testing.T) {
	tests := []struct {
		valveOn process.Pipe
		opening float64
		root    float64
	}{
		{process.Outflow, 1, 0.3},
		{process.Outflow, 0.5, 0.6},
		{process.Inflow, 1, 0.3},
		{process.Inflow, 0.5, 0.15},
		{process.Inflow, 0, 0},
		{process.Outflow, 0.2, 1},
	}
	for _, tt := range tests {
		for _, shape := range process.Shapes() {
			for _, volume := range []float64{10, 1e-2, 1e-6} {
				tank := water(shape)
				tank.VolumeM3, tank.LevelPercent, tank.ValveOn = volume, 50, tt.valveOn
				tank.InflowM3H, tank.OutflowM3H = 30, 100
				r, _ := begin(tank, time.Second)
				r.forth(20000, tt.opening)
				for range 3 { // it stays there
					root := math.Sqrt(r.forth(1, tt.opening) / fullKPa)
					near(t, shape.String()+", root of the level", root, tt.root, 1e-6)
				}
			}
		}
	}
}

// A finer grid gives the same course: no step is too long.
func TestTankOnEveryGrid(t *testing.T) {
	for _, shape := range process.Shapes() {
		var values []float64
		for _, grid := range []time.Duration{10 * time.Millisecond, 100 * time.Millisecond, time.Second} {
			tank := water(shape)
			tank.LevelPercent, tank.InflowM3H, tank.OutflowM3H = 30, 20, 36
			r, _ := begin(tank, grid)
			values = append(values, r.forth(int(300*time.Second/grid), 0.8))
		}
		near(t, shape.String()+", 100 ms against 10 ms, kPa", values[1], values[0], 1e-8)
		near(t, shape.String()+", 1 s against 10 ms, kPa", values[2], values[0], 1e-5)
	}
}

// Whatever the flows and however a valve moves, the level stays between bottom
// and top, rises while more flows in than out, and falls while less does.
func TestTankStaysWithinItself(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tank := water(rapid.SampledFrom(process.Shapes()).Draw(t, "shape"))
		tank.VolumeM3 = math.Pow(10, rapid.Float64Range(-6, 3).Draw(t, "log volume"))
		tank.LevelPercent = rapid.Float64Range(0, 100).Draw(t, "level")
		tank.InflowM3H = rapid.Float64Range(0, 100).Draw(t, "inflow")
		tank.OutflowM3H = rapid.Float64Range(0, 100).Draw(t, "outflow")
		r, value := begin(tank, time.Second)
		for range 20 {
			opening := rapid.Float64Range(0, 1).Draw(t, "opening")
			before := value
			value = r.forth(1, opening)
			if !(value >= 0 && value <= fullKPa) {
				t.Fatalf("got %v kPa, want 0 to %v", value, fullKPa)
			}
			net := tank.InflowM3H - opening*tank.OutflowM3H*math.Sqrt(before/fullKPa)
			if rose := value - before; rose*net < 0 && math.Abs(rose) > 1e-12 {
				t.Fatalf("got %v kPa after %v kPa, with %v m³/h more in than out", value, before, net)
			}
		}
	})
}
