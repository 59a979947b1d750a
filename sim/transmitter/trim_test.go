package transmitter_test

import (
	"errors"
	"math"
	"testing"

	"looptone/sim"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

func TestTrimCorrectsTheValue(t *testing.T) {
	cfg := pressure(process.Constant(40))
	cfg.Trim = transmitter.Trim{Gain: 1.05, Offset: -2}
	tr := start(t, cfg)
	near(t, "applied", tr.Applied(), 40, 0)
	near(t, "value", tr.Value(), 40, 1e-12)
	near(t, "output", output(t, tr, "trim"), 40, 1e-12)
	set(t, tr, 0, func(c *transmitter.Config) { c.Trim = transmitter.Trim{Offset: 3} })
	near(t, "value with an offset alone", tr.Value(), 43, 0)
	near(t, "loop current", tr.LoopCurrentMA(), 10.88, 1e-12)
}

// refused wants an error of that kind with that text, and nothing changed.
func refused(t *testing.T, tr *transmitter.Transmitter, trim func() error, kind error, want string) {
	t.Helper()
	before := tr.Config().Trim
	err := trim()
	if err == nil || err.Error() != want || kind != nil && !errors.Is(err, kind) {
		t.Errorf("got  %v\nwant %s", err, want)
	}
	if got := tr.Config().Trim; got != before {
		t.Errorf("got trim %+v, want %+v as before", got, before)
	}
}

func TestZeroTrim(t *testing.T) {
	acts := dialled(-3)
	cfg := pressure(acts)
	cfg.Trim.Gain = 1.5
	tr := start(t, cfg)
	if err := tr.ZeroTrim(sim.Second); err != nil {
		t.Fatal(err)
	}
	near(t, "value", tr.Value(), 0, 0)
	near(t, "applied", tr.Applied(), -3, 0)
	if got, want := tr.Config().Trim, (transmitter.Trim{Gain: 1.5, Offset: 4.5}); got != want {
		t.Errorf("got trim %+v, want %+v", got, want)
	}

	zero := func(applied float64) func() error {
		return func() error {
			*acts.value = applied
			return tr.ZeroTrim(tr.At() + sim.Second)
		}
	}
	for _, accepted := range []float64{30, -30} {
		if err := zero(accepted)(); err != nil || tr.Value() != 0 {
			t.Errorf("%v kPa: got %v and a value of %v, want 0", accepted, err, tr.Value())
		}
	}
	refused(t, tr, zero(30.1), transmitter.ErrTooHigh, "zero trim: the applied value is too high: got 30.1 kPa, want 30 kPa at most")
	refused(t, tr, zero(-30.1), transmitter.ErrTooLow, "zero trim: the applied value is too low: got -30.1 kPa, want -30 kPa or more")
}

// A transmitter that reads 2 and 105 kPa where a reference shows 0 and 100 is
// right at both after a two-point trim, whichever point comes first, and on the
// line between them.
//
// Source: common practice (two-point calibration).
func TestTwoPointTrim(t *testing.T) {
	for _, lowerFirst := range []bool{true, false} {
		acts := dialled(0)
		cfg := pressure(acts)
		cfg.Trim = transmitter.Trim{Gain: 1.03, Offset: 2}
		tr := start(t, cfg)
		at := func(kPa float64) {
			*acts.value = kPa
			tr.To(tr.At() + sim.Second)
		}
		trim := []func() error{
			func() error { at(0); return tr.TrimLower(tr.At(), 0) },
			func() error { at(100); return tr.TrimUpper(tr.At(), 100) },
		}
		first := 1
		if lowerFirst {
			first = 0
		}
		for _, i := range []int{first, 1 - first} {
			if err := trim[i](); err != nil {
				t.Fatal(err)
			}
		}
		for _, kPa := range []float64{0, 25, 100, 200, -40} {
			at(kPa)
			near(t, "value", tr.Value(), kPa, 1e-12)
		}
	}
}

// One trim leaves the other end of the range as it is.
func TestTrimTurnsAboutTheOtherEnd(t *testing.T) {
	for _, backwards := range []bool{false, true} {
		cfg := pressure(process.Constant(10))
		if backwards {
			cfg.Range.Lower, cfg.Range.Upper = 100, 0
		}
		cfg.Trim = transmitter.Trim{Gain: 1.25, Offset: 5} // 76 reads as 100
		tr := start(t, cfg)
		if err := tr.TrimLower(0, 12); err != nil {
			t.Fatal(err)
		}
		near(t, "trimmed", tr.Value(), 12, 1e-12)
		trim := tr.Config().Trim
		near(t, "upper end", 76*trim.Gain+trim.Offset, 100, 1e-12)
	}
	tr := start(t, pressure(process.Constant(90)))
	if err := tr.TrimUpper(0, 95); err != nil {
		t.Fatal(err)
	}
	near(t, "trimmed", tr.Value(), 95, 1e-12)
	near(t, "lower end", tr.Config().Trim.Offset, 0, 1e-12)
}

func TestTrimRefuses(t *testing.T) {
	tr := start(t, pressure(process.Constant(50)))
	lower := func(truth float64) func() error { return func() error { return tr.TrimLower(0, truth) } }
	upper := func(truth float64) func() error { return func() error { return tr.TrimUpper(0, truth) } }
	refused(t, tr, lower(-51), transmitter.ErrTooLow, "lower trim: the true value is too low: got -51 kPa, want -50 kPa or more")
	refused(t, tr, upper(251), transmitter.ErrTooHigh, "upper trim: the true value is too high: got 251 kPa, want 250 kPa at most")
	refused(t, tr, lower(math.NaN()), nil, "lower trim: the true value is not a number")
	refused(t, tr, lower(19), transmitter.ErrCorrection, "lower trim: the true value 19 kPa is too far from what is read, 50 kPa")
	refused(t, tr, upper(81), transmitter.ErrCorrection, "upper trim: the true value 81 kPa is too far from what is read, 50 kPa")

	near100 := start(t, pressure(process.Constant(98)))
	refused(t, near100, func() error { return near100.TrimLower(0, 96) }, transmitter.ErrSpan,
		"lower trim: the true value 96 kPa is too near to the other end of the range, 100 kPa")
}

// The trim is kept by the rules of every setting.
func TestTrimNeedsItsStage(t *testing.T) {
	cfg := pressure(process.Constant(2))
	cfg.Stages = []string{"sensor", "range", "output"}
	tr := start(t, cfg)
	near(t, "applied", tr.Applied(), 2, 0)
	sentence(t, tr.ZeroTrim(0), `stages: got a list without "trim", want one with it, as it has settings, or none of those`)
	near(t, "value", tr.Value(), 2, 0)
}

// A converter that sets 2 % of the span too much and everything 0.06 mA too low is
// right after its two trims, made twice.
//
// Source: common practice (4 mA, then 20 mA, by a meter in the loop).
func TestTrimCurrent(t *testing.T) {
	cfg := pressure(process.Constant(50))
	cfg.Current.Converter = transmitter.Converter{Gain: 1.02, Offset: -0.06}
	tr := start(t, cfg)
	near(t, "believed", tr.LoopCurrentMA(), 12, 0)
	near(t, "carried", tr.WireCurrentMA(), 12.18, 1e-12)
	near(t, "output", output(t, tr, "loop_current"), 12.18, 1e-12)

	hold := func(ma float64) {
		set(t, tr, 0, func(c *transmitter.Config) { c.Current.Mode, c.Current.HeldMA = transmitter.Fixed, ma })
	}
	for _, ma := range []float64{4, 20, 4, 20} {
		hold(ma)
		if err := tr.TrimCurrent(0, ma, tr.WireCurrentMA()); err != nil {
			t.Fatal(err)
		}
	}
	for _, ma := range []float64{4, 12, 20, 21.5} {
		hold(ma)
		near(t, "carried after the trims", tr.WireCurrentMA(), ma, 1e-5)
		near(t, "believed after the trims", tr.LoopCurrentMA(), ma, 0)
	}
}

// No converter turns the current round.
func TestCurrentIsNeverNegative(t *testing.T) {
	cfg := pressure(process.Constant(0))
	cfg.Current.Converter.Offset = -5
	near(t, "carried", start(t, cfg).WireCurrentMA(), 0, 0)
}

func TestTrimCurrentRefuses(t *testing.T) {
	tr := start(t, pressure(process.Constant(50)))
	for _, tt := range []struct {
		level, measured float64
		kind            error
		want            string
	}{
		{4, 5.1, transmitter.ErrTooHigh, "current trim: the measured current is too high: got 5.1 mA, want 5 mA at most"},
		{4, 2.9, transmitter.ErrTooLow, "current trim: the measured current is too low: got 2.9 mA, want 3 mA or more"},
		{20, 21.1, transmitter.ErrTooHigh, "current trim: the measured current is too high: got 21.1 mA, want 21 mA at most"},
		{20, 18.9, transmitter.ErrTooLow, "current trim: the measured current is too low: got 18.9 mA, want 19 mA or more"},
		{20, math.NaN(), nil, "current trim: the measured current is not a number"},
		{12, 12, nil, "current trim: got a level of 12 mA, want 4 or 20 mA"},
	} {
		err := tr.TrimCurrent(0, tt.level, tt.measured)
		if err == nil || err.Error() != tt.want || tt.kind != nil && !errors.Is(err, tt.kind) {
			t.Errorf("got  %v\nwant %s", err, tt.want)
		}
	}
	if got := tr.Config().Current.Trim; got != (transmitter.Trim{Gain: 1}) {
		t.Errorf("got trim %+v, want none", got)
	}
}
