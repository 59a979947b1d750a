package transmitter

import (
	"fmt"

	"looptone/sim/setting"
)

// How many points a table may have.
//
// Source: common practice (16 is usual).
const (
	FewestPoints = 2
	MostPoints   = 32
)

// A Point of a table: an input of X percent gives an output of Y percent.
// Between two points a table is straight; outside it holds its end values.
type Point struct{ X, Y float64 }

// checkTable wants points that rise in X.
func checkTable(points []Point) error {
	if n := len(points); n > 0 && n < FewestPoints || n > MostPoints {
		return setting.Refuse("table.points", counted(n, "point"), "%d to %d", FewestPoints, MostPoints)
	}
	for i, p := range points {
		name := fmt.Sprintf("table.points[%d]", i)
		if err := setting.First(setting.Number(name, p.X), setting.Number(name, p.Y)); err != nil {
			return err
		}
		if i > 0 && p.X <= points[i-1].X {
			return setting.Refuse(name, fmt.Sprintf("%g %% after %g %%", p.X, points[i-1].X),
				"inputs that rise from point to point")
		}
	}
	return nil
}

// counted is a number of things in words.
func counted(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// table does what [Point] says. It has two points or more.
type table struct {
	points []Point
	now    segment // that the input was on last
}

// segment is the straight line from one point to the next.
type segment struct{ from, to Point }

func (t *table) set(points []Point) { t.points, t.now = points, segment{} }

func (t *table) Step(_, in float64) float64 {
	first, last := &t.points[0], &t.points[len(t.points)-1]
	switch {
	case in >= t.now.from.X && in < t.now.to.X:
	case in <= first.X:
		return first.Y
	case in >= last.X:
		return last.Y
	default:
		t.now = t.segmentAt(in)
	}
	a, b := &t.now.from, &t.now.to
	return a.Y + (in-a.X)/(b.X-a.X)*(b.Y-a.Y)
}

// segmentAt is the segment of an input between the first and the last point.
func (t *table) segmentAt(in float64) segment {
	lower, upper := 0, len(t.points)-1
	for upper-lower > 1 {
		if middle := (lower + upper) / 2; t.points[middle].X <= in {
			lower = middle
		} else {
			upper = middle
		}
	}
	return segment{t.points[lower], t.points[upper]}
}
