package process

import (
	"time"

	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/setting"
)

// Thermal is something that warms up and cools down: a first-order lag with
// TimeConstant, from Start at line time 0 toward Ambient, and Rise above that
// with an open valve. Values are in the sensor's unit.
type Thermal struct {
	Ambient, Rise float64
	TimeConstant  time.Duration // 0 follows the valve at once
	Start         float64
}

func (Thermal) Unit() unit.Code { return 0 }

func (t Thermal) Check(time.Duration) error {
	return setting.First(
		setting.Number("process.ambient", t.Ambient),
		setting.Number("process.rise", t.Rise),
		setting.Duration("process.time_constant_s", t.TimeConstant, 0),
		setting.Number("process.start", t.Start))
}

func (t Thermal) Course() Course {
	return &thermal{t.Ambient, t.Rise, lag{seconds: t.TimeConstant.Seconds(), value: t.Start}}
}

type thermal struct {
	ambient, rise float64
	lag           lag
}

func (t *thermal) Step(_ sim.Tick, dt, opening float64) float64 {
	return t.lag.step(dt, t.ambient+t.rise*opening)
}
