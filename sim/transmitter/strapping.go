package transmitter

import "looptone/sim/process"

// Strapping is a table from level to volume of a vessel of that shape: so many
// points, evenly spaced in level, with the volume from geometry. It wants two
// points or more.
func Strapping(shape process.Shape, points int) []Point {
	table := make([]Point, points)
	for i := range table {
		level := float64(i) / float64(points-1)
		table[i] = Point{100 * level, 100 * shape.Filled(level)}
	}
	return table
}

// StrappingError is how far the straight lines between a table's points are from
// the volume of a vessel of that shape where they are furthest from it, in percent
// of the whole volume, whichever the sign. The table is one from percent of level
// to percent of volume; what it holds outside its points does not count.
func StrappingError(table []Point, shape process.Shape) (worstPercent float64) {
	for i := range len(table) - 1 {
		worstPercent = max(worstPercent, worstBetween(table[i], table[i+1], shape))
	}
	return worstPercent
}

// worstBetween is the worst error between two neighbours of a table. Volume over
// level bends one way below the middle of every shape and one way above it, so
// that the error has one hill or one valley at most in either half.
func worstBetween(a, b Point, shape process.Shape) float64 {
	slope := (b.Y - a.Y) / (b.X - a.X)
	over := func(x float64) float64 { return a.Y + slope*(x-a.X) - 100*shape.Filled(x/100) }
	under := func(x float64) float64 { return -over(x) }
	middle := min(max(50, a.X), b.X)
	return max(
		highest(over, a.X, middle), highest(over, middle, b.X),
		highest(under, a.X, middle), highest(under, middle, b.X))
}

// highest is the largest value of f from lower to upper, where f has one hill at
// most or is largest at an end.
func highest(f func(float64) float64, lower, upper float64) float64 {
	top := max(f(lower), f(upper))
	for range 40 { // (2/3)⁴⁰ is 1e-7, which the top of a hill does not show
		third := (upper - lower) / 3
		left, right := f(lower+third), f(upper-third)
		if left < right {
			lower += third
		} else {
			upper -= third
		}
		top = max(top, left, right)
	}
	return top
}
