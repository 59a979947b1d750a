package transmitter_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// tabled is a transmitter with that table and a process of x percent.
func tabled(t *testing.T, x float64, points ...transmitter.Point) *transmitter.Transmitter {
	t.Helper()
	cfg := pressure(process.Constant(x))
	cfg.Table = points
	return start(t, cfg)
}

func TestTableIsStraightBetweenItsPointsAndHoldsItsEnds(t *testing.T) {
	points := []transmitter.Point{{X: 10, Y: 0}, {X: 20, Y: 40}, {X: 60, Y: 20}, {X: 110, Y: 105}}
	for _, tt := range []struct{ x, y float64 }{
		{-40, 0}, {9.9, 0}, {10, 0}, {15, 20}, {20, 40}, {30, 35}, {59, 20.5}, {60, 20}, {85, 62.5}, {110, 105}, {200, 105},
	} {
		tr := tabled(t, tt.x, points...)
		near(t, "percent of range", tr.PercentOfRange(), tt.y, 1e-12)
		near(t, "output", output(t, tr, "table"), tt.y, 1e-12)
		near(t, "before it", output(t, tr, "transfer"), tt.x, 1e-12)
	}
}

// A quarter of the height of a sphere holds 15.625 % of its volume, and of a lying
// cylinder with flat ends 19.55 %; a table meets the geometry at its points.
//
// Source: common practice (h²(3r−h)π/3 over 4r³π/3; handbook tables of partial
// volumes for horizontal cylinders).
func TestTableOfATank(t *testing.T) {
	for _, tt := range []struct {
		shape     process.Shape
		percent   float64
		tolerance float64
	}{
		{process.Sphere, 15.625, 1e-9}, {process.LyingCylinder, 19.55, 0.005}, {process.StandingCylinder, 25, 1e-9},
		{process.ConeDown, 1.5625, 1e-9}, {process.ConeUp, 57.8125, 1e-9},
	} {
		tr := tabled(t, 25, transmitter.Strapping(tt.shape, 17)...)
		near(t, tt.shape.String(), tr.PercentOfRange(), tt.percent, tt.tolerance)
		near(t, "loop current", tr.LoopCurrentMA(), 4+0.16*tt.percent, 0.16*tt.tolerance+1e-12)
	}
}

// A table gives what a search from one end to the other gives.
func TestTableFindsItsPoints(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		steps := rapid.SliceOfN(rapid.Float64Range(0.01, 20), transmitter.FewestPoints, transmitter.MostPoints).Draw(r, "steps")
		points, x := make([]transmitter.Point, len(steps)), -100.0
		for i, step := range steps {
			x += step
			points[i] = transmitter.Point{X: x, Y: rapid.Float64Range(-100, 200).Draw(r, "y")}
		}
		in := rapid.Float64Range(-49, 249).Draw(r, "in")
		want := points[0].Y
		for i := range len(points) - 1 {
			if a, b := points[i], points[i+1]; in >= a.X {
				want = a.Y + (b.Y-a.Y)*min((in-a.X)/(b.X-a.X), 1)
			}
		}
		if got := tabled(t, in, points...).PercentOfRange(); math.Abs(got-want) > 1e-6 {
			r.Fatalf("%v %%: got %v, want %v", in, got, want)
		}
	})
}
