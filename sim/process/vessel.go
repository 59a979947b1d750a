package process

import (
	"math"

	"looptone/sim/setting"
)

// A Shape is that of a vessel. Its geometry is in shares, 0 to 1, of the whole
// height and of the whole volume, so that it holds for vessels of every size;
// a vessel may also be taller or flatter than its name says (an ellipsoid fills
// as a sphere does).
type Shape uint8

const (
	Sphere           Shape = iota
	LyingCylinder          // with flat ends
	StandingCylinder       // or whatever else has upright walls
	ConeUp                 // apex up, on its base
	ConeDown               // apex down, as a funnel
)

// shapes holds what is known of each shape. The functions are for shares
// between 0 and 1.
//
// Source: from memory (volumes of the spherical cap, the circular segment and
// the cone; any handbook of mathematics).
var shapes = [...]struct {
	name    string
	filled  func(height float64) float64
	surface func(height float64) float64 // derivative of filled
	heightM func(volumeM3 float64) float64
}{
	Sphere: {"sphere", sphereFilled, sphereSurface,
		func(v float64) float64 { return math.Cbrt(6 * v / math.Pi) }},
	LyingCylinder: {"lying cylinder", lyingFilled, lyingSurface,
		func(v float64) float64 { return math.Cbrt(4 * v / (3 * math.Pi)) }},
	StandingCylinder: {"standing cylinder",
		func(x float64) float64 { return x },
		func(float64) float64 { return 1 },
		func(v float64) float64 { return 2 * math.Cbrt(2*v/math.Pi) }},
	ConeUp: {"cone apex up",
		func(x float64) float64 { return 1 - cube(1-x) },
		func(x float64) float64 { return 3 * (1 - x) * (1 - x) },
		coneHeightM},
	ConeDown: {"cone apex down",
		cube,
		func(x float64) float64 { return 3 * x * x },
		coneHeightM},
}

// Shapes lists the shapes.
func Shapes() []Shape {
	list := make([]Shape, len(shapes))
	for i := range list {
		list[i] = Shape(i)
	}
	return list
}

// String is the name of the shape in a line file.
func (s Shape) String() string { return shapes[s].name }

func (s Shape) check(name string) error {
	if int(s) >= len(shapes) {
		return setting.Refuse(name, int(s), "one of the shapes, 0 to %d", len(shapes)-1)
	}
	return nil
}

// Filled is the share of the volume that lies below a share of the height. Below
// the vessel it is 0, above it 1.
func (s Shape) Filled(height float64) float64 { return within(height, shapes[s].filled) }

// surface is the level's area at a share of the height, where 1 is that of a
// vessel of the same height and volume with upright walls.
func (s Shape) surface(height float64) float64 { return shapes[s].surface(height) }

// HeightM is how high a vessel of that volume usually is, in metres: a sphere as
// its diameter, a lying cylinder as its diameter, which goes three times into its
// length; a standing cylinder is twice as high as wide, a cone as high as its
// base is wide.
func (s Shape) HeightM(volumeM3 float64) float64 { return shapes[s].heightM(volumeM3) }

// within is f between 0 and 1, 0 below and 1 above.
func within(share float64, f func(float64) float64) float64 {
	switch {
	case share <= 0:
		return 0
	case share >= 1:
		return 1
	}
	return f(share)
}

func cube(x float64) float64 { return x * x * x }

func coneHeightM(volumeM3 float64) float64 { return math.Cbrt(12 * volumeM3 / math.Pi) }

func sphereFilled(x float64) float64  { return x * x * (3 - 2*x) }
func sphereSurface(x float64) float64 { return 6 * x * (1 - x) }

// lyingFilled is the circular segment that takes up the angle φ at the centre,
// as a share of the circle: (φ − sin φ) / 2π.
func lyingFilled(x float64) float64 {
	if x > 0.5 {
		return 1 - lyingFilled(1-x)
	}
	angle := 4 * math.Asin(math.Sqrt(x))
	return angleLessSine(angle, math.Sin(angle)) / (2 * math.Pi)
}

func lyingSurface(x float64) float64 { return 8 / math.Pi * math.Sqrt(x*(1-x)) }

// angleLessSine is the angle less its sine; where the two nearly cancel, by its
// series.
func angleLessSine(angle, sine float64) float64 {
	if angle > 0.5 {
		return angle - sine
	}
	a := angle * angle
	return angle * a / 6 * (1 - a/20*(1-a/42*(1-a/72*(1-a/110*(1-a/156)))))
}
