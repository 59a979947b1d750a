package transmitter_test

import (
	"math"
	"testing"
	"time"

	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// Codes of the units that the tests use.
const (
	bar          unit.Code = 7
	kPa          unit.Code = 12
	cubicPerHour unit.Code = 19 // m³/h
	cubicMetre   unit.Code = 43
	fahrenheit   unit.Code = 33
	brix         unit.Code = 101
	api          unit.Code = 104
	celsius                = unit.DegreeCelsius
)

// pressure is a transmitter for 0 to 250 kPa, set to 0 to 100 kPa, so that a
// process of one kPa is one percent.
func pressure(model process.Model) transmitter.Config {
	return transmitter.Config{
		Process: process.Config{Model: model},
		Sensor:  transmitter.Sensor{Scale: transmitter.Scale{Lower: -50, Upper: 250, Unit: kPa}},
		Range:   transmitter.Scale{Lower: 0, Upper: 100, Unit: kPa},
	}
}

func start(t *testing.T, cfg transmitter.Config) *transmitter.Transmitter {
	t.Helper()
	tr, err := transmitter.New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

func set(t *testing.T, tr *transmitter.Transmitter, now sim.Tick, change func(c *transmitter.Config)) {
	t.Helper()
	if err := tr.Set(now, change); err != nil {
		t.Fatal(err)
	}
}

func setMode(t *testing.T, tr *transmitter.Transmitter, now sim.Tick, mode transmitter.CurrentMode) {
	t.Helper()
	set(t, tr, now, func(c *transmitter.Config) { c.Current.Mode = mode })
}

// output is what stands behind a stage.
func output(t *testing.T, tr *transmitter.Transmitter, name string) float64 {
	t.Helper()
	o, ok := tr.Output(name)
	if !ok {
		t.Fatalf("got no output %q of %v", name, tr.Outputs())
	}
	return o.Value
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %v, want %v ± %g", what, got, want, tolerance)
	}
}

// Source: common practice (4-20 mA, five-point calibration table).
func TestLoopCurrentAtFivePoints(t *testing.T) {
	for value, want := range map[process.Constant]float64{0: 4, 25: 8, 50: 12, 75: 16, 100: 20} {
		tr := start(t, pressure(value))
		if got := tr.LoopCurrentMA(); got != want {
			t.Errorf("%v %%: got %v mA, want %v mA", value, got, want)
		}
		if got := tr.Status(); got != (transmitter.Status{}) {
			t.Errorf("%v %%: got status %+v, want none", value, got)
		}
	}
}

// Source: common practice (the same table for a reverse-acting range).
func TestRangeThatRunsBackwards(t *testing.T) {
	for value, want := range map[process.Constant]float64{0: 20, 25: 16, 50: 12, 75: 8, 100: 4} {
		cfg := pressure(value)
		cfg.Range.Lower, cfg.Range.Upper = 100, 0
		if got := start(t, cfg).LoopCurrentMA(); got != want {
			t.Errorf("%v kPa: got %v mA, want %v mA", value, got, want)
		}
	}
}

// Source: common practice (flow goes with the root of differential pressure: 25 %
// of it is 50 % flow, 12 mA; over a rectangular weir with head to the 3/2, over
// a V-notch with head to the 5/2).
func TestPowerLaw(t *testing.T) {
	tests := []struct {
		power   float64
		value   process.Constant
		percent float64
		mA      float64
	}{
		{0.5, 0, 0, 4},
		{0.5, 1, 10, 5.6},
		{0.5, 25, 50, 12},
		{0.5, 49, 70, 15.2},
		{0.5, 100, 100, 20},
		{0.5, -20, 0, 4},
		{1.5, 25, 12.5, 6},
		{2.5, 25, 3.125, 4.5},
		{2, -20, 0, 4},
		{1, -1, -1, 3.84},
	}
	for _, tt := range tests {
		cfg := pressure(tt.value)
		cfg.Transfer.Power = tt.power
		tr := start(t, cfg)
		near(t, "percent of range", tr.PercentOfRange(), tt.percent, 1e-12)
		near(t, "loop current", tr.LoopCurrentMA(), tt.mA, 1e-12)
	}
}

// The cut-off compares the output: 4 % of differential pressure are 20 % flow.
func TestCutOffComparesTheOutput(t *testing.T) {
	tests := []struct {
		power, cutOff float64
		value         process.Constant
		want          float64
	}{
		{0.5, 20, 4, 20},
		{0.5, 20, 3.9, 0},
		{1, 20, 20, 20},
		{1, 20, 19.9, 0},
		{1, 20, -5, 0},
		{1, 0, -5, -5},
	}
	for _, tt := range tests {
		cfg := pressure(tt.value)
		cfg.Transfer = transmitter.Transfer{Power: tt.power, CutOffPercent: tt.cutOff}
		near(t, "percent of range", start(t, cfg).PercentOfRange(), tt.want, 1e-12)
	}
}

// After one time constant a first-order lag has gone 1 − e⁻¹, 63.2 %, of a step;
// after two 86.5 %, after three 95.0 %, after five 99.3 %. It does so on every
// grid.
//
// Source: common practice (any textbook of control).
func TestDampingAfterTimeConstants(t *testing.T) {
	const stepAt, constant = 2 * time.Second, 3 * time.Second
	for _, grid := range []time.Duration{0, 10 * time.Millisecond, 200 * time.Millisecond, time.Second} {
		cfg := pressure(process.Step{Before: 0, After: 100, Start: stepAt})
		cfg.DampingS, cfg.Grid = constant.Seconds(), grid
		tr := start(t, cfg)
		tr.To(sim.Ticks(stepAt))
		near(t, "at the step", tr.PercentOfRange(), 0, 0)
		for _, after := range []struct{ constants, percent float64 }{{1, 63.2}, {2, 86.5}, {3, 95.0}, {5, 99.3}} {
			tr.To(sim.Ticks(stepAt + time.Duration(after.constants)*constant))
			near(t, "as the textbook rounds it", tr.PercentOfRange(), after.percent, 0.05)
			near(t, "as the formula says", tr.PercentOfRange(), 100*(1-math.Exp(-after.constants)), 1e-9)
		}
	}
}

func TestPowerUpIsSettled(t *testing.T) {
	cfg := pressure(process.Constant(80))
	cfg.DampingS = 30
	near(t, "percent of range", start(t, cfg).PercentOfRange(), 80, 0)
}

// Source: NAMUR NE 43, as summarised at industryhub.site/en/standards/namur-ne-43
// (3.8 and 20.5 mA).
func TestSaturation(t *testing.T) {
	tests := []struct {
		value     process.Constant
		mA        float64
		saturated bool
	}{
		{-1.25, 3.8, false},
		{-1.26, 3.8, true},
		{-50, 3.8, true},
		{103.125, 20.5, false},
		{103.2, 20.5, true},
		{250, 20.5, true},
	}
	for _, tt := range tests {
		tr := start(t, pressure(tt.value))
		near(t, "loop current", tr.LoopCurrentMA(), tt.mA, 0)
		near(t, "percent of range", tr.PercentOfRange(), float64(tt.value), 1e-12)
		if got, want := tr.Status(), (transmitter.Status{CurrentSaturated: tt.saturated}); got != want {
			t.Errorf("%v %%: got status %+v, want %+v", tt.value, got, want)
		}
	}
}

// A range as wide as the sensor leaves room for saturation.
//
// Source: NAMUR NE 43, as above.
func TestSaturationOfAFullRange(t *testing.T) {
	for value, mA := range map[process.Constant]float64{250: 20, 300: 20.5, -50: 4, -100: 3.8} {
		cfg := pressure(value)
		cfg.Range = cfg.Sensor.Scale
		tr := start(t, cfg)
		near(t, "loop current", tr.LoopCurrentMA(), mA, 0)
		beyond := mA > 20 || mA < 4
		if got, want := tr.Status(), (transmitter.Status{CurrentSaturated: beyond, OutOfLimits: beyond}); got != want {
			t.Errorf("%v kPa: got status %+v, want %+v", value, got, want)
		}
	}
}

func TestSaturationLimitsOfItsOwn(t *testing.T) {
	cfg := pressure(process.Constant(150))
	cfg.Current.UpperMA = 20.8
	near(t, "loop current", start(t, cfg).LoopCurrentMA(), 20.8, 0)
}

// Source: common practice (a transmitter in multidrop is parked at 4 mA).
func TestParkedCurrent(t *testing.T) {
	cfg := pressure(process.Ramp{From: 0, To: 200, Length: 10 * time.Second})
	cfg.Current.Mode = transmitter.Fixed
	tr := start(t, cfg)
	tr.To(8 * sim.Second)
	near(t, "parked", tr.LoopCurrentMA(), 4, 0)
	near(t, "percent of range, parked", tr.PercentOfRange(), 160, 1e-9)
	if got, want := tr.Status(), (transmitter.Status{CurrentFixed: true}); got != want {
		t.Errorf("parked: got status %+v, want %+v", got, want)
	}

	setMode(t, tr, 8*sim.Second, transmitter.Modulated)
	near(t, "let go", tr.LoopCurrentMA(), 20.5, 0)
	if got, want := tr.Status(), (transmitter.Status{CurrentSaturated: true}); got != want {
		t.Errorf("let go: got status %+v, want %+v", got, want)
	}

	setMode(t, tr, 8*sim.Second, transmitter.Fixed)
	near(t, "parked again", tr.LoopCurrentMA(), 4, 0)
	if got, want := tr.Status(), (transmitter.Status{CurrentFixed: true}); got != want {
		t.Errorf("parked again: got status %+v, want %+v", got, want)
	}
}

// A sensor for -50 to 250 kPa follows 15 kPa, 5 % of its span, further on either
// side.
func TestSensorBeyondItsLimits(t *testing.T) {
	tests := []struct {
		value   float64
		kPa     float64
		outside bool
	}{
		{0, 0, false}, {250, 250, false}, {250.1, 250.1, true}, {265, 265, true}, {265.1, 265, true},
		{-50, -50, false}, {-50.1, -50.1, true}, {-65, -65, true}, {-65.1, -65, true}, {-1e6, -65, true},
	}
	for _, tt := range tests {
		process := dialled(tt.value)
		tr := start(t, pressure(process))
		if got, _ := tr.PrimaryVariable(); got != tt.kPa {
			t.Errorf("%v kPa: got %v kPa, want %v kPa", tt.value, got, tt.kPa)
		}
		if got := tr.Status().OutOfLimits; got != tt.outside {
			t.Errorf("%v kPa: got out of limits %v, want %v", tt.value, got, tt.outside)
		}
		*process.value = 7
		if tr.To(sim.Second); tr.Status().OutOfLimits {
			t.Errorf("%v kPa and back: got out of limits", tt.value)
		}
	}
}

// Source: BIPM, The International System of Units, 9th edition, table 8 (1 bar is
// 100 kPa).
func TestPrimaryVariableIsInTheUnitOfTheRange(t *testing.T) {
	cfg := pressure(process.Constant(150))
	cfg.Range = transmitter.Scale{Lower: 0, Upper: 2, Unit: bar}
	tr := start(t, cfg)
	value, u := tr.PrimaryVariable()
	near(t, "primary variable in bar", value, 1.5, 1e-12)
	if u != bar {
		t.Errorf("got unit %v, want %v", u, bar)
	}
	near(t, "percent of range", tr.PercentOfRange(), 75, 1e-12)
}

// A flow of 0 to 120 m³/h over an orifice: half of it at 25 % of the pressure.
func TestPrimaryVariableInAUserUnit(t *testing.T) {
	cfg := pressure(process.Constant(25))
	cfg.Transfer.Power = 0.5
	cfg.UserUnit = &transmitter.Scale{Lower: 0, Upper: 120, Unit: cubicPerHour}
	tr := start(t, cfg)
	value, u := tr.PrimaryVariable()
	near(t, "primary variable in m³/h", value, 60, 1e-12)
	if u != cubicPerHour {
		t.Errorf("got unit %v, want %v", u, cubicPerHour)
	}
	near(t, "loop current", tr.LoopCurrentMA(), 12, 1e-12)
}

// A range may be as wide as the sensor, though its limits are rounded on the way
// between their units.
//
// Source: common practice (water freezes at 32 °F, 0 °C, and boils at 212 °F, 100 °C).
func TestRangeAsWideAsTheSensorInAnotherUnit(t *testing.T) {
	cfg := transmitter.Config{
		Process: process.Config{Model: process.Constant(100)},
		Sensor:  transmitter.Sensor{Scale: transmitter.Scale{Lower: 0, Upper: 100, Unit: celsius}},
		Range:   transmitter.Scale{Lower: 32, Upper: 212, Unit: fahrenheit},
	}
	tr := start(t, cfg)
	near(t, "percent of range", tr.PercentOfRange(), 100, 0)
	value, _ := tr.PrimaryVariable()
	near(t, "primary variable in °F", value, 212, 1e-9)

	for celsius := 1.0; celsius <= 100; celsius++ { // nor is a span too small by rounding
		cfg.Sensor.MinimumSpan = celsius
		cfg.Range.Upper = 32 + celsius*1.8
		start(t, cfg)
	}
}
