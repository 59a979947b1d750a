package process_test

import (
	"math"
	"testing"

	"looptone/sim/process"
)

// Percent of the volume at percent of the height.
//
// Source: from memory (handbook tables of partly filled vessels: a sphere at a
// quarter of its height holds 15.625 %, a lying cylinder with flat ends at a
// tenth 5.204 %, at a fifth 14.24 %, at a quarter 19.55 %, at three tenths
// 25.23 %, at four tenths 37.35 %; a cone goes with the cube of the height from
// its apex).
func TestFilledAsInHandbooks(t *testing.T) {
	tests := []struct {
		shape                   process.Shape
		height, want, asPrinted float64
	}{
		{process.Sphere, 25, 15.625, 1e-12},
		{process.Sphere, 50, 50, 1e-12},
		{process.Sphere, 75, 84.375, 1e-12},
		{process.LyingCylinder, 10, 5.204, 0.0005},
		{process.LyingCylinder, 20, 14.24, 0.005},
		{process.LyingCylinder, 25, 19.55, 0.005},
		{process.LyingCylinder, 30, 25.23, 0.005},
		{process.LyingCylinder, 40, 37.35, 0.005},
		{process.LyingCylinder, 50, 50, 1e-12},
		{process.LyingCylinder, 75, 80.45, 0.005},
		{process.StandingCylinder, 37, 37, 1e-12},
		{process.ConeDown, 50, 12.5, 1e-12},
		{process.ConeDown, 10, 0.1, 1e-12},
		{process.ConeUp, 50, 87.5, 1e-12},
		{process.ConeUp, 90, 99.9, 1e-12},
	}
	for _, tt := range tests {
		what := tt.shape.String() + ", percent of the volume"
		near(t, what, 100*tt.shape.Filled(tt.height/100), tt.want, tt.asPrinted)
	}
}

func TestShapesOutsideTheVessel(t *testing.T) {
	for _, shape := range process.Shapes() {
		for _, tt := range []struct{ share, want float64 }{
			{math.Inf(-1), 0}, {-0.1, 0}, {0, 0}, {1, 1}, {1.1, 1}, {math.Inf(1), 1},
		} {
			if got := shape.Filled(tt.share); got != tt.want {
				t.Errorf("%v filled to %v of its height: got %v, want %v", shape, tt.share, got, tt.want)
			}
		}
	}
}

// The segment of a circle as handbooks have it, from radius and height:
// r² arccos((r − h)/r) − (r − h) √(2rh − h²).
//
// Source: from memory (circular segment; any handbook of mathematics).
func TestLyingCylinderAsInHandbooks(t *testing.T) {
	const r = 1
	for h := 0.002; h < 2*r; h += 0.002 {
		segment := r*r*math.Acos((r-h)/r) - (r-h)*math.Sqrt(2*r*h-h*h)
		near(t, "area of a segment", process.LyingCylinder.Filled(h/2), segment/math.Pi, 1e-14)
	}
}

// areas are the level's area at a share of the height, up to a factor: π r² for
// what is round, a chord for a lying cylinder.
var areas = map[process.Shape]func(x float64) float64{
	process.Sphere:           func(x float64) float64 { r := 1 - 2*x; return 1 - r*r },
	process.LyingCylinder:    func(x float64) float64 { r := 1 - 2*x; return math.Sqrt(1 - r*r) },
	process.StandingCylinder: func(float64) float64 { return 1 },
	process.ConeUp:           func(x float64) float64 { return (1 - x) * (1 - x) },
	process.ConeDown:         func(x float64) float64 { return x * x },
}

// Thin layers, added up, are a second way to the volume.
func TestFilledIsTheSumOfLayers(t *testing.T) {
	const layers, tolerance = 20000, 2e-7
	for _, shape := range process.Shapes() {
		area := areas[shape]
		below := make([]float64, layers+1)
		for i := range layers {
			below[i+1] = below[i] + area((float64(i)+0.5)/layers)
		}
		for i, sum := range below {
			got, want := shape.Filled(float64(i)/layers), sum/below[layers]
			if !(math.Abs(got-want) < tolerance) {
				t.Fatalf("%v filled to %d/%d: got %v, want %v", shape, i, layers, got, want)
			}
		}
	}
}

// Volumes from the heights: π d³/6, π d²/4 × length, a third of base × height.
func TestUsualHeights(t *testing.T) {
	const volume = 20.0
	tests := map[process.Shape]func(h float64) float64{
		process.Sphere:           func(h float64) float64 { return math.Pi / 6 * h * h * h },
		process.LyingCylinder:    func(h float64) float64 { return math.Pi / 4 * h * h * (3 * h) },
		process.StandingCylinder: func(h float64) float64 { return math.Pi / 4 * (h / 2) * (h / 2) * h },
		process.ConeUp:           func(h float64) float64 { return math.Pi / 4 * h * h * h / 3 },
		process.ConeDown:         func(h float64) float64 { return math.Pi / 4 * h * h * h / 3 },
	}
	for shape, back := range tests {
		near(t, shape.String()+", m³", back(shape.HeightM(volume)), volume, 1e-12)
	}
}

func TestShapesHaveNames(t *testing.T) {
	want := []string{"sphere", "lying cylinder", "standing cylinder", "cone apex up", "cone apex down"}
	got := process.Shapes()
	if len(got) != len(want) {
		t.Fatalf("got %d shapes, want %d", len(got), len(want))
	}
	for i, shape := range got {
		if shape.String() != want[i] {
			t.Errorf("shape %d: got %q, want %q", i, shape, want[i])
		}
	}
}
