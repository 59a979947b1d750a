package page

import (
	"math"
	"testing"
	"testing/synctest"
	"time"

	"looptone/sim/linefile"
)

// bead is a bead of a device of the demonstration line.
func (r *running) bead(i int, name string) (b Bead) {
	r.t.Helper()
	for _, b := range r.open(i).Beads {
		if b.Name == name {
			return b
		}
	}
	r.t.Fatalf("device %d has no bead %q", i, name)
	return b
}

// open opens a device.
func (r *running) open(i int) (o *Opened) {
	r.t.Helper()
	if !r.page.do(func(s *Scene) { o = s.opened(i) }) || o == nil {
		r.t.Fatalf("device %d is not opened", i)
	}
	return o
}

// at is what a curve says of an input, straight between its points.
func (k *Curve) at(x float64) float64 {
	for i := 1; i < len(k.Points); i++ {
		a, b := k.Points[i-1], k.Points[i]
		if x >= a[0] && x <= b[0] {
			return a[1] + (x-a[0])/(b[0]-a[0])*(b[1]-a[1])
		}
	}
	return math.NaN()
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %v, want %v within %v", what, got, want, tolerance)
	}
}

// Places of devices on the demonstration line.
const (
	orifice    = 1
	sphere     = 2
	controlled = 4
)

// Source: common practice (flow goes with the root of differential pressure: 25 % of it is
// 50 % flow). The cut-off of 2 % is reached by 0.04 %.
func TestCurveOfASquareRoot(t *testing.T) {
	run(t, linefile.Example(), Config{}, func(r *running) {
		k := r.bead(orifice, "transfer").Curve
		for x, want := range map[float64]float64{-5: 0, 0: 0, 0.02: 0, 1: 10, 25: 50, 49: 70, 64: 80, 100: 100} {
			near(t, "root", k.at(x), want, 0.25)
		}
		for i := 1; i < len(k.Points); i++ {
			a, b := k.Points[i-1], k.Points[i]
			if b[1] > 2 && a[1] == 0 && b[0]-a[0] > 0.01 {
				t.Errorf("the step of the cut-off is drawn from %v to %v %%", a[0], b[0])
			}
		}
		if len(k.Marks) != 1 || k.Marks[0] != (LevelMark{"y", 2, "cut-off"}) {
			t.Errorf("got marks %v, want that of the cut-off", k.Marks)
		}
	})
}

// A quarter of the height of a sphere holds 15.625 % of its volume. A table of 16 points
// is off by 0.31 % at most.
//
// Source: common practice (h²(3r−h)π/3 over 4r³π/3).
func TestCurveOfASphere(t *testing.T) {
	run(t, linefile.Example(), Config{}, func(r *running) {
		k := r.bead(sphere, "table").Curve
		for x, want := range map[float64]float64{-10: 0, 0: 0, 25: 15.625, 50: 50, 75: 84.375, 100: 100, 110: 100} {
			near(t, "sphere", k.at(x), want, 0.32)
		}
		if len(k.Dots) != 16 {
			t.Fatalf("got %d dots, want the 16 points of the table", len(k.Dots))
		}
		for _, dot := range k.Dots {
			near(t, "the curve at a point of the table", k.at(dot[0]), dot[1], 1e-9)
		}
	})
}

// Source: NAMUR NE 43, as summarised at industryhub.site/en/standards/namur-ne-43 (3.8 to
// 20.5 mA); common practice (4-20 mA, parked at 4 mA).
func TestCurveOfTheOutput(t *testing.T) {
	run(t, linefile.Example(), Config{}, func(r *running) {
		for _, i := range []int{sphere, controlled} {
			k := r.bead(i, "output").Curve
			for x, want := range map[float64]float64{-10: 3.8, 0: 4, 25: 8, 50: 12, 100: 20, 110: 20.5} {
				near(t, "output", k.at(x), want, 0.02)
			}
			switch parked := i == sphere; {
			case parked && (k.Holds == nil || *k.Holds != 4):
				t.Errorf("parked: got %v, want that it holds 4 mA", k.Holds)
			case !parked && k.Holds != nil:
				t.Errorf("moving: got that it holds %v mA", *k.Holds)
			}
		}
	})
}

// Source: common practice (a first-order lag has gone 63.2 % of the way after one time
// constant, 95 % after three).
func TestCurveOfDamping(t *testing.T) {
	run(t, linefile.Example(), Config{}, func(r *running) {
		k := r.bead(orifice, "damping").Curve
		for x, want := range map[float64]float64{0: 0, 1: 63.2, 3: 95, 5: 99.3} {
			near(t, "step response", k.at(x), want, 0.1)
		}
		k = r.bead(sphere, "damping").Curve
		for x, want := range map[float64]float64{0: 100, 1: 100} {
			near(t, "step response without damping", k.at(x), want, 0)
		}
	})
}

// The working point of every stage lies on its curve, whatever the process does; but where
// the current is held.
func TestWorkingPointsLieOnTheirCurves(t *testing.T) {
	run(t, linefile.Example(), Config{}, func(r *running) {
		compared := 0
		for range 20 {
			time.Sleep(7 * time.Second) // of the bubble
			synctest.Wait()
			for i := range 6 {
				var o *Opened
				var values DeviceValue
				r.page.do(func(s *Scene) { o, values = s.opened(i), s.valueOf(i) })
				for n, b := range o.Beads {
					if b.Curve == nil || b.Curve.Kind != "input" || b.Curve.Holds != nil {
						continue
					}
					compared++
					in, out := *values.Out[b.From], *values.Out[n]
					near(t, o.Tag+" "+b.Name, b.Curve.at(in), out, 2*crooked*(b.Curve.Y.To-b.Curve.Y.From))
				}
			}
		}
		if compared < 20*6*5 {
			t.Errorf("compared %d working points, want at least five a device", compared)
		}
	})
}
