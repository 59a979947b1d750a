package process

import (
	"time"

	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/setting"
)

// Constant is a value that stays.
type Constant float64

// At is the value at a moment of line time.
func (c Constant) At(sim.Tick) float64 { return float64(c) }

// Step is Before, and from the moment Start on After.
type Step struct {
	Before, After float64
	Start         time.Duration
}

// At is the value at a moment of line time.
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

// At is the value at a moment of line time.
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

// signal is the course of a model whose value depends on nothing but the moment.
type signal struct {
	model interface{ At(now sim.Tick) float64 }
}

func (s signal) Step(now sim.Tick, _, _ float64) float64 { return s.model.At(now) }

func (c Constant) Course() Course { return signal{c} }
func (s Step) Course() Course     { return signal{s} }
func (r Ramp) Course() Course     { return signal{r} }
func (s Sine) Course() Course     { return newWave(s) }

func (Constant) Unit() unit.Code { return 0 }
func (Step) Unit() unit.Code     { return 0 }
func (Ramp) Unit() unit.Code     { return 0 }
func (Sine) Unit() unit.Code     { return 0 }

func (c Constant) Check(time.Duration) error { return setting.Number("process.value", float64(c)) }

func (s Step) Check(time.Duration) error {
	return setting.First(
		setting.Number("process.before", s.Before),
		setting.Number("process.after", s.After),
		setting.Duration("process.start_s", s.Start, 0))
}

func (r Ramp) Check(time.Duration) error {
	return setting.First(
		setting.Number("process.from", r.From),
		setting.Number("process.to", r.To),
		setting.Duration("process.start_s", r.Start, 0),
		setting.Duration("process.length_s", r.Length, 0))
}

func (s Sine) Check(grid time.Duration) error {
	return setting.First(
		setting.Number("process.low", s.Low),
		setting.Number("process.high", s.High),
		checkPeriod(s.Period, grid))
}
