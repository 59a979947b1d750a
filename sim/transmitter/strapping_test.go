package transmitter_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"looptone/sim/process"
	"looptone/sim/transmitter"
)

func TestStrappingIsGeometry(t *testing.T) {
	for _, shape := range process.Shapes() {
		table := transmitter.Strapping(shape, 16)
		if len(table) != 16 {
			t.Fatalf("%v: got %d points, want 16", shape, len(table))
		}
		for i, p := range table {
			near(t, shape.String()+", level", p.X, float64(i)*100/15, 1e-12)
			near(t, shape.String()+", volume", p.Y, 100*shape.Filled(p.X/100), 1e-12)
		}
		near(t, shape.String()+", bottom", table[0].X+table[0].Y, 0, 0)
		near(t, shape.String()+", top", table[15].X+table[15].Y, 200, 0)
	}
}

// densest looks at so many places between each two points.
func densest(table []transmitter.Point, shape process.Shape, places int) (worst float64) {
	for i := range len(table) - 1 {
		a, b := table[i], table[i+1]
		for j := range places + 1 {
			share := float64(j) / float64(places)
			x, y := a.X+share*(b.X-a.X), a.Y+share*(b.Y-a.Y)
			worst = max(worst, math.Abs(y-100*shape.Filled(x/100)))
		}
	}
	return worst
}

func TestStrappingErrorIsTheWorst(t *testing.T) {
	for _, shape := range process.Shapes() {
		for _, points := range []int{2, 3, 4, 5, 16, 17, 31, 32} {
			table := transmitter.Strapping(shape, points)
			got, want := transmitter.StrappingError(table, shape), densest(table, shape, 5000)
			// The best of 5000 places is at most a 10,000th of an interval beside the worst.
			if got < want-1e-12 || got > want+1e-5 {
				t.Errorf("%v, %d points: got %v %%, want %v %%", shape, points, got, want)
			}
		}
	}
}

func TestStrappingErrorOfAnyTable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shape := rapid.SampledFrom(process.Shapes()).Draw(t, "shape")
		levels := rapid.SliceOfNDistinct(rapid.IntRange(0, 100), 2, 5, rapid.ID).Draw(t, "levels")
		slices.Sort(levels)
		var table []transmitter.Point
		for _, x := range levels {
			off := rapid.Float64Range(-2, 2).Draw(t, "off")
			table = append(table, transmitter.Point{X: float64(x), Y: 100*shape.Filled(float64(x)/100) + off})
		}
		got, want := transmitter.StrappingError(table, shape), densest(table, shape, 500)
		if got < want-1e-12 || got > want+1e-3 {
			t.Fatalf("%v, %v: got %v %%, want %v %%", shape, table, got, want)
		}
	})
}

// A straight line over a funnel, x³, is furthest from it at x = 1/√3, by 2/(3√3);
// over a sphere, x²(3 − 2x), at x = 1/2 ± 1/√12, by 1/(6√3); where the walls are
// upright nowhere.
//
// Source: from memory (extremes of x − x³ and of x − x²(3 − 2x), by calculus).
func TestStrappingErrorOfTwoPoints(t *testing.T) {
	for shape, want := range map[process.Shape]float64{
		process.ConeDown:         100 * 2 / (3 * math.Sqrt(3)),
		process.ConeUp:           100 * 2 / (3 * math.Sqrt(3)),
		process.Sphere:           100 / (6 * math.Sqrt(3)),
		process.StandingCylinder: 0,
	} {
		near(t, shape.String(), transmitter.StrappingError(transmitter.Strapping(shape, 2), shape), want, 1e-10)
	}
}

// Between points that lie on a curve a straight line is off by an eighth of the
// curvature times the square of the interval: 16 points make intervals of 1/15,
// the curvature of a sphere is 6 at its ends. The curvature is not constant within
// an interval, hence the tolerance.
//
// Source: from memory (error of linear interpolation, any textbook of numerical analysis).
func TestStrappingErrorOfSixteenPoints(t *testing.T) {
	got := transmitter.StrappingError(transmitter.Strapping(process.Sphere, 16), process.Sphere)
	near(t, "sphere", got, 100*6./8/(15*15), 0.03)
}
