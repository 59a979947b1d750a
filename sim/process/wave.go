package process

import (
	"math"
	"time"

	"looptone/sim"
	"looptone/sim/setting"
)

// turns is how often a wave is turned before it is set anew.
const turns = 64

// wave is a sine on its way. From one grid point to the next it turns by the same
// angle, which costs less than a sine; every so often it is set anew, so that
// rounding does not add up.
type wave struct {
	mean, swing      float64
	period           sim.Tick
	sin, cos         float64
	turnSin, turnCos float64  // of the angle of a step
	step             sim.Tick // that the angle belongs to
	at               sim.Tick
	left             int // turns until it is set anew
}

// checkPeriod wants room for four grid points in the period of a wave: half way,
// high, half way and low.
func checkPeriod(period, grid time.Duration) error {
	const name = "process.period_s"
	if least := 4 * grid; period < least {
		return setting.Refuse(name, setting.Time(name, period), "%s or more: four grid points, which are grid_ms apart",
			setting.Time(name, least))
	}
	return nil
}

func newWave(s Sine) *wave {
	return &wave{mean: (s.Low + s.High) / 2, swing: (s.High - s.Low) / 2, period: sim.Ticks(s.Period)}
}

func (w *wave) Step(now sim.Tick, _, _ float64) float64 {
	if step := now - w.at; step != w.step || w.left == 0 {
		w.set(now, step)
	} else {
		w.sin, w.cos = w.sin*w.turnCos+w.cos*w.turnSin, w.cos*w.turnCos-w.sin*w.turnSin
		w.left--
	}
	w.at = now
	return w.mean + w.swing*w.sin
}

func (w *wave) set(now, step sim.Tick) {
	w.sin, w.cos = math.Sincos(w.angle(now))
	w.left = turns
	if step != w.step {
		w.step = step
		w.turnSin, w.turnCos = math.Sincos(w.angle(step))
	}
}

// angle is how far the wave has turned after a time.
func (w *wave) angle(t sim.Tick) float64 {
	return 2 * math.Pi * float64(t%w.period) / float64(w.period)
}
