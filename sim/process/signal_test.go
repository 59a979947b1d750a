package process_test

import (
	"math"
	"testing"
	"time"

	"looptone/sim"
	"looptone/sim/process"
)

func TestModels(t *testing.T) {
	step := process.Step{Before: 3, After: 8, Start: 2 * time.Second}
	ramp := process.Ramp{From: 10, To: -10, Start: time.Second, Length: 4 * time.Second}
	jump := process.Ramp{From: 1, To: 2, Start: time.Second}
	sine := process.Sine{Low: 5, High: 35, Period: time.Minute}
	tests := []struct {
		model process.Model
		at    sim.Tick
		want  float64
	}{
		{process.Constant(7), 0, 7},
		{process.Constant(7), sim.Second, 7},
		{step, 2*sim.Second - 1, 3},
		{step, 2 * sim.Second, 8},
		{ramp, 0, 10},
		{ramp, sim.Second, 10},
		{ramp, 2 * sim.Second, 5},
		{ramp, 3 * sim.Second, 0},
		{ramp, 5 * sim.Second, -10},
		{ramp, 9 * sim.Second, -10},
		{jump, sim.Second, 1},
		{jump, sim.Second + 1, 2},
		{sine, 0, 20},
		{sine, 5 * sim.Second, 27.5}, // sin 30° is one half
		{sine, 15 * sim.Second, 35},
		{sine, 30 * sim.Second, 20},
		{sine, 45 * sim.Second, 5},
		{sine, 1000000*60*sim.Second + 15*sim.Second, 35},
	}
	for _, tt := range tests {
		if got := tt.model.Course().Step(tt.at, 0.1, 1); math.Abs(got-tt.want) > 1e-12 {
			t.Errorf("%+v at %v: got %v, want %v", tt.model, tt.at.Duration(), got, tt.want)
		}
	}
}

// values are those of a process at the first n grid points.
func values(p process.Config, n int) []float64 {
	course := p.Course()
	list := make([]float64, n)
	for i := range list {
		list[i] = course.Step(sim.Tick(i)*sim.Second/10, 0.1, 1)
	}
	return list
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %v, want %v ± %g", what, got, want, tolerance)
	}
}

// Of a normal distribution 68.27 % lie within one standard deviation of the mean
// and 95.45 % within two; white noise does not remember.
//
// Source: common practice (68-95-99.7 rule).
func TestNoiseIsWhiteAndGaussian(t *testing.T) {
	const n, mean, deviation = 40000, 100, 2.5
	drawn := values(process.Config{Model: process.Constant(mean), Noise: deviation, Seed: 1}, n)
	var sum, squares, lagged float64
	var one, two int
	for i, v := range drawn {
		z := (v - mean) / deviation
		sum += z
		squares += z * z
		if i > 0 {
			lagged += z * (drawn[i-1] - mean) / deviation
		}
		if math.Abs(z) < 1 {
			one++
		}
		if math.Abs(z) < 2 {
			two++
		}
	}
	// Five standard errors of each statistic.
	near(t, "mean", sum/n, 0, 5/math.Sqrt(n))
	near(t, "variance", squares/n, 1, 5*math.Sqrt(2.0/n))
	near(t, "correlation with the value before", lagged/n, 0, 5/math.Sqrt(n))
	near(t, "share within one deviation", float64(one)/n, 0.6827, 5*math.Sqrt(0.6827*0.3173/n))
	near(t, "share within two deviations", float64(two)/n, 0.9545, 5*math.Sqrt(0.9545*0.0455/n))
}

func TestNoiseDependsOnTheSeedAlone(t *testing.T) {
	noisy := process.Config{Model: process.Constant(0), Noise: 1, Seed: 7}
	first, again := values(noisy, 100), values(noisy, 100)
	noisy.Seed = 8
	other := values(noisy, 100)
	same := 0
	for i := range first {
		if first[i] != again[i] {
			t.Errorf("grid point %d: got %v and %v from one seed", i, first[i], again[i])
		}
		if first[i] == other[i] {
			same++
		}
	}
	if same > 0 {
		t.Errorf("got %d equal values of 100 from two seeds, want none", same)
	}
}

// A wave that turns from point to point stays with the sine that it stands for.
func TestWaveStaysWithTheSine(t *testing.T) {
	course := process.Sine{Low: -1, High: 1, Period: 7 * time.Second}.Course()
	for i := range 1_000_000 {
		now := sim.Tick(i) * sim.Second / 10
		got := course.Step(now, 0.1, 1)
		want := math.Sin(2 * math.Pi * float64(i%70) / 70)
		if math.Abs(got-want) > 1e-13 {
			t.Fatalf("at %v: got %v, want %v", now.Duration(), got, want)
		}
	}
}
