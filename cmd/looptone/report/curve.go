package report

import (
	"math"

	"looptone/cmd/looptone/view"
	"looptone/frame/exchange"
)

// How many curves of values there may be, and points of one; then two points become one.
const (
	mostCurves = 48
	mostPoints = 480
)

// A curve is how one value went. Its points follow the readings one by one until there
// are too many; then each is the least and the most of some that follow each other.
type curve struct {
	station  int
	name     string
	unit     string
	readings int64
	each     int // readings that a point is of
	points   []point
	inLast   int // readings that the last point is of
}

type point struct{ from, to, low, high float64 }

// curves are those of all devices.
type curves struct {
	all   []*curve
	index map[curveKey]*curve
	more  map[curveKey]struct{} // that found no room
}

type curveKey struct {
	station    int
	name, unit string
}

func (c *curves) add(station int, at float64, m *exchange.Message) {
	for name, v := range view.Measured(m) {
		number, _ := v.Number()
		if math.IsInf(number, 0) {
			continue
		}
		if of := c.of(curveKey{station, name, v.UnitSymbol()}); of != nil {
			of.add(at, number)
		}
	}
}

// of is the curve of a value; nil where there is no room for it.
func (c *curves) of(key curveKey) *curve {
	if of, ok := c.index[key]; ok {
		return of
	}
	if len(c.all) >= mostCurves {
		if len(c.more) < 10*mostCurves {
			c.more[key] = struct{}{}
		}
		return nil
	}
	of := &curve{station: key.station, name: key.name, unit: key.unit, each: 1}
	c.all = append(c.all, of)
	c.index[key] = of
	return of
}

func (c *curve) add(at, value float64) {
	c.readings++
	if n := len(c.points); n > 0 && c.inLast < c.each {
		p := &c.points[n-1]
		p.to, p.low, p.high = max(p.to, at), min(p.low, value), max(p.high, value)
		c.inLast++
		return
	}
	if len(c.points) == mostPoints {
		c.thin()
	}
	c.points = append(c.points, point{at, at, value, value})
	c.inLast = 1
}

func (c *curve) thin() {
	half := c.points[:0]
	for i := 0; i+1 < len(c.points); i += 2 {
		a, b := c.points[i], c.points[i+1]
		half = append(half, point{a.from, b.to, min(a.low, b.low), max(a.high, b.high)})
	}
	c.points = half
	c.each *= 2
}
