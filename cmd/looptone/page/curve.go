package page

import (
	"math"

	"looptone/frame/unit"
	"looptone/sim/transmitter"
)

// A Curve is what a stage makes of what it is given: of an input, or of a step at the
// time 0. It comes from the transmitter itself.
type Curve struct {
	Kind   string       `json:"kind"` // input, step
	X      Axis         `json:"x"`
	Y      Axis         `json:"y"`
	Points [][2]float64 `json:"points"` // straight between them
	Dots   [][2]float64 `json:"dots"`   // of a table
	Marks  []LevelMark  `json:"marks"`  // levels that mean something
	Holds  *float64     `json:"holds"`  // the output stays here, whatever the input is
}

// An Axis is what is drawn along a side of a curve.
type Axis struct {
	Name string  `json:"name"`
	Unit string  `json:"unit"`
	From float64 `json:"from"`
	To   float64 `json:"to"`
}

// A LevelMark is a level of an axis that means something.
type LevelMark struct {
	Axis string  `json:"axis"` // x, y
	At   float64 `json:"at"`
	Says string  `json:"says"`
}

// beyond is how far a curve is drawn beyond what it is set to, as a share of that.
const beyond = 0.1

// curveOf is the curve of the stage behind which an output stands, around what it is given
// now; nil where it has none.
func curveOf(t *transmitter.Transmitter, c *transmitter.Config, name string, in transmitter.Output) *Curve {
	if name == "damping" {
		return stepCurve(t, c)
	}
	if _, ok := t.Through(name, 0); !ok {
		return nil
	}
	out, _ := t.Output(name)
	k := &Curve{Kind: "input", Dots: [][2]float64{}, Marks: marks(c, name)}
	lower, upper := inputSpan(c, name)
	if !math.IsNaN(in.Value) && !math.IsInf(in.Value, 0) {
		lower, upper = min(lower, in.Value), max(upper, in.Value)
	}
	k.X = Axis{"goes in", in.Unit.String(), lower, upper}
	corners := []float64{}
	if name == "table" {
		for _, p := range c.Table {
			corners = append(corners, p.X)
			k.Dots = append(k.Dots, [2]float64{p.X, p.Y})
		}
	}
	k.Points = trace(func(x float64) float64 { y, _ := t.Through(name, x); return y }, lower, upper, corners)
	if name == "output" && c.Current.Mode == transmitter.Fixed {
		k.Holds = &c.Current.HeldMA
	}
	k.Y = k.heights(out.Unit.String())
	return k
}

// inputSpan is from where to where a curve is drawn.
func inputSpan(c *transmitter.Config, name string) (lower, upper float64) {
	switch name {
	case "sensor":
		return widened(c.Sensor.Lower+c.Sensor.LowSide, c.Sensor.Upper+c.Sensor.LowSide)
	case "characterisation", "trim":
		return widened(c.Sensor.Lower, c.Sensor.Upper)
	case "range":
		lower, upper = rangeValues(c)
		return widened(min(lower, upper), max(lower, upper))
	case "loop_current":
		return widened(min(transmitter.ZeroMA, c.Current.LowerMA, c.Current.FailureMA), max(transmitter.FullMA, c.Current.UpperMA, c.Current.FailureMA))
	}
	return widened(0, 100)
}

// rangeValues are those of 0 and 100 %, in the sensor's unit, which goes into the range.
func rangeValues(c *transmitter.Config) (lower, upper float64) {
	lower, _ = unit.Convert(c.Range.Lower, c.Range.Unit, c.Sensor.Unit) // a transmitter is not made where it cannot
	upper, _ = unit.Convert(c.Range.Upper, c.Range.Unit, c.Sensor.Unit)
	return lower, upper
}

func widened(lower, upper float64) (float64, float64) {
	by := beyond * (upper - lower)
	return lower - by, upper + by
}

// marks are the levels of a stage that mean something.
func marks(c *transmitter.Config, name string) []LevelMark {
	switch name {
	case "sensor":
		return []LevelMark{{"y", c.Sensor.Lower, "lower limit"}, {"y", c.Sensor.Upper, "upper limit"}}
	case "range":
		lower, upper := rangeValues(c)
		return []LevelMark{{"x", lower, "0 %"}, {"x", upper, "100 %"}}
	case "transfer":
		if c.Transfer.CutOffPercent > 0 {
			return []LevelMark{{"y", c.Transfer.CutOffPercent, "cut-off"}}
		}
	case "output":
		return []LevelMark{{"y", c.Current.LowerMA, "lower saturation"}, {"y", c.Current.UpperMA, "upper saturation"}, {"y", c.Current.FailureMA, "failure current"}}
	}
	return []LevelMark{}
}

// heights is the axis up the side: so far that everything that is drawn is on it.
func (k *Curve) heights(unit string) Axis {
	lower, upper := math.Inf(1), math.Inf(-1)
	take := func(y float64) { lower, upper = min(lower, y), max(upper, y) }
	for _, p := range k.Points {
		take(p[1])
	}
	for _, m := range k.Marks {
		if m.Axis == "y" {
			take(m.At)
		}
	}
	if k.Holds != nil {
		take(*k.Holds)
	}
	return Axis{"comes out", unit, lower, upper}
}

// How a curve is divided: into so many parts at first, and each of them again where it is
// not straight to so small a share of the curve's height.
const (
	parts     = 32
	mostSplit = 10
	crooked   = 0.002
)

// trace are points of f, as dense as it is crooked; corners are points of their own.
func trace(f func(x float64) float64, lower, upper float64, corners []float64) [][2]float64 {
	at := func(x float64) [2]float64 { return [2]float64{x, f(x)} }
	var rough [][2]float64
	for i := range parts + 1 {
		x := lower + (upper-lower)*float64(i)/parts
		for len(corners) > 0 && corners[0] <= x {
			if corners[0] > lower && corners[0] < x {
				rough = append(rough, at(corners[0]))
			}
			corners = corners[1:]
		}
		rough = append(rough, at(x))
	}
	tolerance := crooked * height(rough)
	points := rough[:1:1]
	for i := range len(rough) - 1 {
		points = split(points, at, rough[i], rough[i+1], tolerance, mostSplit)
	}
	return points
}

func height(points [][2]float64) float64 {
	lower, upper := math.Inf(1), math.Inf(-1)
	for _, p := range points {
		lower, upper = min(lower, p[1]), max(upper, p[1])
	}
	return upper - lower
}

// split appends the points behind a up to b. A root may be on the straight line in the
// middle by chance: it is looked at beside the middle, too.
func split(points [][2]float64, at func(float64) [2]float64, a, b [2]float64, tolerance float64, most int) [][2]float64 {
	off := func(share float64) float64 {
		p := at(a[0] + share*(b[0]-a[0]))
		return math.Abs(p[1] - (a[1] + share*(b[1]-a[1])))
	}
	if most == 0 || off(0.5) <= tolerance && off(0.3) <= tolerance {
		return append(points, b)
	}
	middle := at((a[0] + b[0]) / 2)
	points = split(points, at, a, middle, tolerance, most-1)
	return split(points, at, middle, b, tolerance, most-1)
}

// stepPoints is about how many points a step response has.
const stepPoints = 100

// stepCurve is how damping follows a step.
func stepCurve(t *transmitter.Transmitter, c *transmitter.Config) *Curve {
	seconds := max(5*c.DampingS, 1)
	k := &Curve{Kind: "step", Dots: [][2]float64{}, Marks: []LevelMark{}}
	k.X = Axis{"after the step", "s", 0, seconds}
	k.Y = Axis{"of the way", "%", 0, 100}
	for _, p := range t.StepResponse(seconds, stepPoints) {
		k.Points = append(k.Points, [2]float64{p.X, p.Y})
	}
	if c.DampingS > 0 {
		k.Marks = append(k.Marks, LevelMark{"x", c.DampingS, "one time constant"}, LevelMark{"y", 100 * -math.Expm1(-1), "63.2 %"})
	}
	return k
}
