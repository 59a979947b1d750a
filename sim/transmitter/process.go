package transmitter

import (
	"cmp"
	"math"
	"time"

	"looptone/sim"
)

// A Process is what the sensor measures, in the sensor's unit. Its value at a
// moment depends on nothing but that moment and the seed.
type Process struct {
	Model Model
	Noise float64 // standard deviation of Gaussian noise that is added; 0 is none
	Seed  uint64  // of the noise; transmitters that share one have the same noise
}

// A Model is the course of a process without its noise: [Constant], [Ramp],
// [Step] or [Sine].
type Model interface {
	// At is the value at a moment of line time.
	At(now sim.Tick) float64

	check(grid time.Duration) error
}

// Constant is a value that stays.
type Constant float64

func (c Constant) At(sim.Tick) float64 { return float64(c) }

// Step is Before, and from the moment Start on After.
type Step struct {
	Before, After float64
	Start         time.Duration
}

func (s Step) At(now sim.Tick) float64 {
	if now < sim.Ticks(s.Start) {
		return s.Before
	}
	return s.After
}

// Ramp is From up to the moment Start, then moves to To in a straight line that
// takes as long as Length, and stays there.
type Ramp struct {
	From, To      float64
	Start, Length time.Duration
}

func (r Ramp) At(now sim.Tick) float64 {
	gone, length := now-sim.Ticks(r.Start), sim.Ticks(r.Length)
	switch {
	case gone <= 0:
		return r.From
	case gone >= length:
		return r.To
	}
	share := float64(gone) / float64(length)
	return r.From + share*(r.To-r.From)
}

// Sine swings between Low and High, once a Period. At time 0 it is half way and
// rising.
type Sine struct {
	Low, High float64
	Period    time.Duration
}

func (s Sine) At(now sim.Tick) float64 {
	period := sim.Ticks(s.Period)
	phase := float64(now%period) / float64(period)
	return (s.Low+s.High)/2 + (s.High-s.Low)/2*math.Sin(2*math.Pi*phase)
}

func (p Process) check(grid time.Duration) error {
	if p.Model == nil {
		return refuse("process.model", "none", "constant, ramp, step or sine")
	}
	if err := p.Model.check(grid); err != nil {
		return err
	}
	return checkNotNegative("process.noise", p.Noise)
}

func (c Constant) check(time.Duration) error { return checkNumber("process.value", float64(c)) }

func (s Step) check(time.Duration) error {
	return cmp.Or(
		checkNumber("process.before", s.Before),
		checkNumber("process.after", s.After),
		checkDuration("process.start_s", s.Start, 0))
}

func (r Ramp) check(time.Duration) error {
	return cmp.Or(
		checkNumber("process.from", r.From),
		checkNumber("process.to", r.To),
		checkDuration("process.start_s", r.Start, 0),
		checkDuration("process.length_s", r.Length, 0))
}

// check wants a period with room for four grid points: half way, high, half way
// and low.
func (s Sine) check(grid time.Duration) error {
	return cmp.Or(
		checkNumber("process.low", s.Low),
		checkNumber("process.high", s.High),
		checkDuration("process.period_s", s.Period, 4*grid))
}
