package process

import (
	"math"
	"time"

	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/setting"
)

// Orifice is a flow through an orifice plate: FlowKgH, and on top of it a sine of
// SwingKgH that begins half way and rising, both with an open valve and in
// proportion to it. The flow follows with a first-order lag. The value is the
// differential pressure over the plate, in kPa; a flow that runs backwards makes
// a negative one.
//
// By the mass-flow equation
//
//	q = C / √(1 − β⁴) · ε · π/4 · d² · √(2 Δp ρ)
//
// with the bore d, the diameter ratio β of bore to pipe, the discharge coefficient
// C, the expansibility factor ε and the density ρ upstream of the plate.
//
// Source: ISO 5167-1:2003, equation (1), and ISO 5167-2:2003, 5.3.1 (limits of
// the diameter ratio); both from memory.
type Orifice struct {
	PipeMM, BoreMM float64
	Discharge      float64 // discharge coefficient; near 0.6 for a sharp edge
	Expansibility  float64 // expansibility factor; 1 for liquids
	DensityKgM3    float64
	FlowKgH        float64
	SwingKgH       float64
	Period         time.Duration // of the swing
	LagS           float64       // time constant in seconds; 0 is none
}

// Limits of the diameter ratio.
const leastBeta, mostBeta = 0.1, 0.75

func (Orifice) Unit() unit.Code { return kPa }

func (o Orifice) Check(grid time.Duration) error {
	return setting.First(
		setting.Positive("process.pipe_mm", o.PipeMM),
		setting.Positive("process.bore_mm", o.BoreMM),
		o.checkBeta(),
		setting.Within("process.discharge", o.Discharge, 0.1, 1),
		setting.Within("process.expansibility", o.Expansibility, 0.1, 1),
		setting.Positive("process.density_kg_m3", o.DensityKgM3),
		setting.Number("process.flow_kg_h", o.FlowKgH),
		setting.Number("process.swing_kg_h", o.SwingKgH),
		o.checkSwing(grid),
		setting.NotNegative("process.lag_s", o.LagS))
}

func (o Orifice) checkBeta() error {
	if beta := o.BoreMM / o.PipeMM; !(beta >= leastBeta && beta <= mostBeta) {
		return setting.Refuse("process.bore_mm", o.BoreMM, "%.4g to %.4g: %g to %g of process.pipe_mm, %g",
			leastBeta*o.PipeMM, mostBeta*o.PipeMM, leastBeta, mostBeta, o.PipeMM)
	}
	return nil
}

func (o Orifice) checkSwing(grid time.Duration) error {
	if o.SwingKgH == 0 {
		return nil
	}
	return checkPeriod(o.Period, grid)
}

func (o Orifice) Course() Course {
	return &orifice{
		flow:  o.FlowKgH,
		swing: newWave(Sine{-o.SwingKgH, o.SwingKgH, o.Period}),
		kPa:   o.kPaPerSquare(),
		lag:   lag{seconds: o.LagS},
	}
}

// kPaPerSquare is the differential pressure at a flow of 1 kg/h; it goes with the
// square of the flow.
func (o Orifice) kPaPerSquare() float64 {
	beta, bore := o.BoreMM/o.PipeMM, o.BoreMM/1000
	area := math.Pi / 4 * bore * bore
	perRoot := o.Discharge / math.Sqrt(1-beta*beta*beta*beta) * o.Expansibility * area // kg/s per √(2 Δp ρ)
	speed := 1 / (3600 * perRoot)
	return speed * speed / (2 * o.DensityKgM3) / 1000
}

type orifice struct {
	flow  float64
	swing *wave   // of the flow
	kPa   float64 // at a flow of 1 kg/h
	lag   lag     // of the flow in kg/h
}

func (o *orifice) Step(now sim.Tick, dt, opening float64) float64 {
	flow := o.flow
	if o.swing.swing != 0 {
		flow += o.swing.Step(now, dt, opening)
	}
	flow *= opening
	if dt == 0 {
		o.lag.value = flow
	}
	flow = o.lag.step(dt, flow)
	return o.kPa * flow * math.Abs(flow)
}
