package transmitter

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"looptone/sim"
	"looptone/sim/setting"
)

// Trim corrects the characterised value: it is multiplied by Gain, then Offset is
// added, in the sensor's unit. A Gain of 0 stands for 1.
type Trim struct {
	Gain   float64 `json:"gain"`
	Offset float64 `json:"offset"`
}

func (t Trim) withDefaults() Trim {
	t.Gain = cmp.Or(t.Gain, 1)
	return t
}

// check takes the names of the settings.
func (t Trim) check(gain, offset string) error {
	return setting.First(setting.Positive(gain, t.Gain), setting.Number(offset, t.Offset))
}

// through is the trim that gives x at a and y at b.
func through(a, x, b, y float64) Trim {
	gain := (y - x) / (b - a)
	return Trim{gain, x - gain*a}
}

// Why a trim is refused, beside what [Transmitter.Set] refuses.
var (
	ErrTooHigh    = errors.New("too high")
	ErrTooLow     = errors.New("too low")
	ErrSpan       = errors.New("too near to the other end of the range")
	ErrCorrection = errors.New("too far from what is read")
)

// How much a trim may move, and how near to each other its two points may be, in
// shares of the way between the sensor's limits.
//
// Source: from memory.
const (
	mostTrim     = 0.1
	leastBetween = 0.01
)

// mostCurrentTrimMA is how far from its level a current may be for a trim.
//
// Source: from memory.
const mostCurrentTrimMA = 1.0

// ZeroTrim moves the trim so that what acts on the sensor now reads 0. It is
// refused with ErrTooHigh or ErrTooLow where the value that goes into the trim is
// further from 0 than a tenth of the way between the sensor's limits.
func (t *Transmitter) ZeroTrim(now sim.Tick) error {
	t.To(now)
	applied, most := t.Applied(), mostTrim*t.cfg.Sensor.span()
	if err := t.within("zero trim: the applied value", applied, -most, most); err != nil {
		return err
	}
	return t.retrim(now, Trim{t.cfg.Trim.Gain, -t.cfg.Trim.Gain * applied})
}

// TrimLower moves the trim so that what acts on the sensor now reads truth, in
// its unit, and the upper end of the range stays as it is. A two-point trim is
// made with the truth near both ends of the range; that neither spoils the other
// holds for the ends themselves.
//
// It is refused with ErrTooHigh or ErrTooLow where the truth is beyond a limit of
// the sensor, with ErrCorrection where it is further from what is read than a
// tenth of the way between the limits, and with ErrSpan where it is not well
// below the upper end.
func (t *Transmitter) TrimLower(now sim.Tick, truth float64) error {
	lower, upper := t.cfg.rangeInSensorUnit()
	return t.trimAgainst(now, "lower trim", truth, max(lower, upper), 1)
}

// TrimUpper is TrimLower for the upper end: the lower one stays as it is.
func (t *Transmitter) TrimUpper(now sim.Tick, truth float64) error {
	lower, upper := t.cfg.rangeInSensorUnit()
	return t.trimAgainst(now, "upper trim", truth, min(lower, upper), -1)
}

// trimAgainst has what is read become truth while the reading other stays, which
// is to be above the truth where side is 1, below it where it is -1.
func (t *Transmitter) trimAgainst(now sim.Tick, what string, truth, other, side float64) error {
	t.To(now)
	s := &t.cfg.Sensor
	if err := t.within(what+": the true value", truth, s.Lower, s.Upper); err != nil {
		return err
	}
	read := t.Value()
	if most := mostTrim * s.span(); !(truth >= read-most && truth <= read+most) {
		return fmt.Errorf("%s: the true value %s is %w, %s", what, quantity(truth, s.Unit), ErrCorrection, quantity(read, s.Unit))
	}
	least := max(leastBetween*s.span(), s.MinimumSpan)
	if side*(other-truth) < least || side*(other-read) < least {
		return fmt.Errorf("%s: the true value %s is %w, %s", what, quantity(truth, s.Unit), ErrSpan, quantity(other, s.Unit))
	}
	old := t.cfg.Trim
	return t.retrim(now, through((other-old.Offset)/old.Gain, other, t.Applied(), truth))
}

// within tells whether a value in the sensor's unit is too high or too low.
func (t *Transmitter) within(what string, v, least, most float64) error {
	return between(what, v, least, most, t.cfg.Sensor.Unit.String())
}

func between(what string, v, least, most float64, unit string) error {
	switch {
	case v > most:
		return fmt.Errorf("%s is %w: got %g %s, want %g %s at most", what, ErrTooHigh, v, unit, most, unit)
	case v < least:
		return fmt.Errorf("%s is %w: got %g %s, want %g %s or more", what, ErrTooLow, v, unit, least, unit)
	case math.IsNaN(v):
		return fmt.Errorf("%s is not a number", what)
	}
	return nil
}

func (t *Transmitter) retrim(now sim.Tick, to Trim) error {
	return t.Set(now, func(c *Config) { c.Trim = to })
}

// TrimCurrent corrects the D/A converter by what a meter in the loop shows while
// the current is held at levelMA, which is 4 or 20. At 4 mA it moves the whole
// line, at 20 mA it turns it about 4 mA: so 4 mA comes first. It is refused with
// ErrTooHigh or ErrTooLow where the meter shows more than 1 mA off.
func (t *Transmitter) TrimCurrent(now sim.Tick, levelMA, measuredMA float64) error {
	if levelMA != ZeroMA && levelMA != FullMA {
		return fmt.Errorf("current trim: got a level of %g mA, want %g or %g mA", levelMA, ZeroMA, FullMA)
	}
	if err := between("current trim: the measured current", measuredMA,
		levelMA-mostCurrentTrimMA, levelMA+mostCurrentTrimMA, "mA"); err != nil {
		return err
	}
	t.To(now)
	to := t.cfg.Current.Trim
	if levelMA == ZeroMA {
		to.Offset -= measuredMA - ZeroMA
	} else { // the converter's gain is seen between 4 mA, which is right by now, and what is measured
		zero, gain := to.Gain*ZeroMA+to.Offset, to.Gain*(FullMA-ZeroMA)/(measuredMA-ZeroMA)
		to = Trim{gain, zero - gain*ZeroMA}
	}
	return t.Set(now, func(c *Config) { c.Current.Trim = to })
}
