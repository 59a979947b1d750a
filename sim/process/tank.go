package process

import (
	"math"
	"time"

	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/setting"
)

// A Pipe is one of the two of a [Tank].
type Pipe uint8

const (
	Outflow Pipe = iota
	Inflow
)

// Tank is a vessel, open at the top or not, that is filled at a constant rate and
// emptied by gravity. What flows out goes with the root of the level
// (Torricelli's law); one pipe has the valve. Below empty and above full nothing
// happens: the outlet draws air, the rest runs over. The value is the pressure on
// the bottom, in kPa: that of the liquid and what presses on it.
type Tank struct {
	Shape        Shape
	VolumeM3     float64
	HeightM      float64 // 0 is [Shape.HeightM]
	DensityKgM3  float64
	LevelPercent float64 // of the height, at line time 0
	InflowM3H    float64 // with an open valve
	OutflowM3H   float64 // with an open valve, out of the full vessel
	ValveOn      Pipe
	AboveKPa     float64 // presses on the liquid, as the sensor counts: 0 is the atmosphere of a gauge, or a vacuum
}

// AtmosphereKPa is the standard atmosphere: what presses on the liquid in an open
// tank, counted from a vacuum.
//
// Source: 10th CGPM (1954), resolution 4, from memory.
const AtmosphereKPa = 101.325

// gravity is the standard acceleration due to gravity, in m/s².
//
// Source: 3rd CGPM (1901), conventional value of the acceleration due to gravity.
const gravity = 9.80665

// kPa is the unit of the pressures that a plant makes.
const kPa unit.Code = 12

func (t Tank) Unit() unit.Code { return kPa }

func (t Tank) Check(time.Duration) error {
	return setting.First(
		t.Shape.check("process.shape"),
		setting.Positive("process.volume_m3", t.VolumeM3),
		setting.NotNegative("process.height_m", t.HeightM),
		setting.Positive("process.density_kg_m3", t.DensityKgM3),
		setting.Within("process.level_percent", t.LevelPercent, 0, 100),
		setting.NotNegative("process.inflow_m3h", t.InflowM3H),
		setting.NotNegative("process.outflow_m3h", t.OutflowM3H),
		setting.Number("process.above_kpa", t.AboveKPa))
}

// whenFull is the pressure of the liquid on the bottom of the full tank.
func (t Tank) whenFull() float64 {
	height := t.HeightM
	if height == 0 {
		height = t.Shape.HeightM(t.VolumeM3)
	}
	return t.DensityKgM3 * gravity * height / 1000
}

func (t Tank) Course() Course {
	perSecond := 1 / (3600 * t.VolumeM3)
	return &tank{
		shape:   t.Shape,
		in:      t.InflowM3H * perSecond,
		out:     t.OutflowM3H * perSecond,
		valveOn: t.ValveOn,
		above:   t.AboveKPa,
		fullKPa: t.whenFull(),
		root:    math.Sqrt(t.LevelPercent / 100),
	}
}

// tank is a [Tank] on its way. It keeps the root of the level, as a share of the
// height: what flows out goes with it, and it falls in a straight line where the
// walls are upright.
type tank struct {
	shape   Shape
	in, out float64 // volumes of the tank a second
	valveOn Pipe
	above   float64
	fullKPa float64
	root    float64
}

func (t *tank) Step(_ sim.Tick, dt, opening float64) float64 {
	in, out := t.in*dt, t.out*dt
	if t.valveOn == Inflow {
		in *= opening
	} else {
		out *= opening
	}
	switch {
	case in == 0 && out == 0:
	case t.movesLittle(in + out):
		t.root = t.explicit(in, out)
	default:
		t.root = t.implicit(in, out)
	}
	return t.above + t.fullKPa*t.root*t.root
}

// volumePerRoot is the derivative of the volume by the root of the level.
func (t *tank) volumePerRoot(root float64) float64 {
	return 2 * root * t.shape.surface(root*root)
}

// movesLittle is true when a flow of that much in a step moves the root by no
// more than a small share of its way to the bottom and to the top, where the
// level of some shapes moves infinitely fast.
func (t *tank) movesLittle(flow float64) bool {
	const share = 1. / 16
	return flow < share*min(t.root, 1-t.root)*t.volumePerRoot(t.root)
}

// explicit is the root after a step of the classical Runge-Kutta method.
func (t *tank) explicit(in, out float64) float64 {
	slope := func(root float64) float64 { return (in - out*root) / t.volumePerRoot(root) }
	k1 := slope(t.root)
	k2 := slope(t.root + k1/2)
	k3 := slope(t.root + k2/2)
	k4 := slope(t.root + k3)
	return t.root + (k1+2*(k2+k3)+k4)/6
}

// implicit is the root after a step of the implicit Euler method, which takes
// steps of any length and never passes an equilibrium: the root for which the
// volume, and what flows out at that level, are what there was and what flowed in.
func (t *tank) implicit(in, out float64) float64 {
	have := t.shape.Filled(t.root*t.root) + in
	switch {
	case have <= 0:
		return 0
	case have >= 1+out:
		return 1
	}
	lower, upper, root := 0., 1., t.root
	for range 100 { // more than halving the bounds alone would take
		excess := t.shape.Filled(root*root) + out*root - have
		if excess > 0 {
			upper = root
		} else {
			lower = root
		}
		next := root - excess/(t.volumePerRoot(root)+out) // Newton
		if !(next > lower && next < upper) {
			next = (lower + upper) / 2
		}
		if next == root || next == lower || next == upper {
			return next
		}
		root = next
	}
	return root
}
