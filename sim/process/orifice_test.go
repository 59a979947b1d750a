package process_test

import (
	"math"
	"testing"
	"time"

	"looptone/sim"
	"looptone/sim/process"
)

const (
	inch     = 25.4                        // mm
	perFoot3 = 0.45359237 / 0.028316846592 // lb/ft³ in kg/m³
	gallon   = 3.785411784e-3              // US, in m³
)

// plate is an orifice without swing and lag.
func plate(pipeMM, boreMM, discharge, expansibility, density, flowKgS float64) process.Orifice {
	return process.Orifice{PipeMM: pipeMM, BoreMM: boreMM, Discharge: discharge, Expansibility: expansibility,
		DensityKgM3: density, FlowKgH: 3600 * flowKgS}
}

// pressure is the differential pressure over a plate, in kPa.
func pressure(plate process.Orifice) float64 { return plate.Course().Step(0, 0, 1) }

// Source: documentation of the library fluids 1.0.22, page fluids.flow_meter: the
// examples of flow_meter_discharge (formula 1-12 of ASME MFC-3M; D = 0.0739 m,
// Do = 0.0222 m, C = 0.5988, expansibility 0.9975, 1.1646 kg/m³, 100 kPa to
// 99 kPa: 0.01120390943807026 kg/s), and of differential_pressure_meter_C_epsilon
// with differential_pressure_meter_solver (D = 0.07366 m, D2 = 0.05 m,
// 999.1 kg/m³, 200 kPa to 183 kPa, C and expansibility as below:
// 7.702338035732167 kg/s).
func TestOrificeAsInTheExamplesOfALibrary(t *testing.T) {
	air := plate(73.9, 22.2, 0.5988, 0.9975, 1.1646, 0.01120390943807026)
	near(t, "air, kPa", pressure(air), 1, 1e-12)
	water := plate(73.66, 50, 0.6151252900244296, 0.9711026966676307, 999.1, 7.702338035732167)
	near(t, "water, kPa", pressure(water), 17, 1e-11)
}

// A plate of 2 inches in a 4 inch schedule 40 pipe (4.026 inches), water of 60 °F
// (62.364 lb/ft³), a deflection of 4.4 inches of mercury under water: with a flow
// coefficient C/√(1 − β⁴) of 0.625, 106 gal/min.
//
// Source: Crane Technical Paper 410, problem 7-23, as quoted with its results in
// the documentation of the library fluids 1.0.22, page 7.23 Flow Through Orifice
// Meters; inches of mercury at 0 °C and of water at 60 °F (3386.389 and 248.843 Pa)
// from memory.
func TestOrificeAsInAHandbook(t *testing.T) {
	const density, kPa = 62.364 * perFoot3, 4.4 * (3386.389 - 248.843) / 1000
	const beta = 2 / 4.026
	discharge := 0.625 * math.Sqrt(1-beta*beta*beta*beta)
	meter := plate(4.026*inch, 2*inch, discharge, 1, density, 1)
	perMinute := 60 / (density * gallon) * math.Sqrt(kPa/pressure(meter))
	near(t, "flow, gal/min", math.Round(perMinute), 106, 0)
	near(t, "flow by the coefficient 0.6067029 that the library finds, gal/min", perMinute*0.6067029/discharge, 105.739, 0.002)
}

// Differential pressure goes with the square of the flow, and with its sign.
//
// Source: common practice (25 % of the differential pressure at half the flow).
func TestOrificeSquare(t *testing.T) {
	full := plate(100, 50, 0.6, 1, 1000, 10)
	half := plate(100, 50, 0.6, 1, 1000, 5)
	back := plate(100, 50, 0.6, 1, 1000, -10)
	near(t, "half the flow", pressure(half), pressure(full)/4, 1e-12)
	near(t, "backwards", pressure(back), -pressure(full), 0)
	near(t, "half open", full.Course().Step(0, 0, 0.5), pressure(full)/4, 1e-12)
	near(t, "shut", full.Course().Step(0, 0, 0), 0, 0)
}

// The flow follows the valve with 63.2 % at one time constant, 36.8 % are left of
// it when the valve shuts.
func TestOrificeLag(t *testing.T) {
	plate := plate(100, 50, 0.6, 1, 1000, 10)
	full := pressure(plate)
	plate.LagS = 3
	r, value := begin(plate, 100*time.Millisecond)
	near(t, "at first", value, full, 1e-12)
	near(t, "open", r.forth(100, 1), full, 1e-12)
	near(t, "shut for a time constant", r.forth(30, 0), full*math.Exp(-2), 1e-12)
	near(t, "open for two", math.Sqrt(r.forth(60, 1)/full), 1-(1-math.Exp(-1))*math.Exp(-2), 1e-12)
}

func TestOrificeSwing(t *testing.T) {
	steady := pressure(plate(100, 50, 0.6, 1, 1000, 10))
	swinging := plate(100, 50, 0.6, 1, 1000, 10)
	swinging.SwingKgH, swinging.Period = 0.2*swinging.FlowKgH, time.Minute
	course := swinging.Course()
	for _, tt := range []struct {
		at   sim.Tick
		flow float64
	}{{0, 1}, {15, 1.2}, {30, 1}, {45, 0.8}, {65, 1.1}} {
		value := course.Step(tt.at*sim.Second, 1, 1)
		near(t, "share of the steady flow", math.Sqrt(value/steady), tt.flow, 1e-12)
	}
}
