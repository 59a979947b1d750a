package transmitter

import (
	"math"

	"looptone/frame/unit"
	"looptone/sim/setting"
)

// ReferenceC is the temperature at which a sensor measures right.
//
// Source: common practice (instruments are adjusted at 20 °C).
const ReferenceC = 20.0

// absoluteZeroC is the lowest temperature there is.
//
// Source: BIPM, The International System of Units, 9th edition, section 2.3.1.
const absoluteZeroC = -273.15

// Overrange is how far beyond its limits a sensor follows, as a share of the way
// between them.
//
// Source: common practice (a few percent).
const Overrange = 0.05

// A Sensor turns the difference between its high and its low side into a value.
// The process acts on the high side, so that its value less LowSide is what the
// sensor meets. What the sensor's own temperature does to that comes on top.
// Beyond its limits it follows for another [Overrange] of the way between them,
// so that a range as wide as the sensor leaves room for saturation, and stays
// there.
type Sensor struct {
	Scale                   // its limits
	MinimumSpan float64     // how far apart the range values are at least, in its unit; 0: as near as one likes
	LowSide     float64     // what acts on its low side, in its unit; 0 for an open side or a vacuum
	Temperature Temperature // what its temperature does to it
	AtC         float64     // its temperature in °C; of no account where Temperature is zero
}

// Temperature is what every kelvin away from [ReferenceC] does to a value: first
// it grows, then it is moved.
type Temperature struct {
	ZeroPerK float64 // it is moved, in its unit
	SpanPerK float64 // it grows, in percent of itself
}

// at is the effect at a temperature of c °C.
func (t Temperature) at(c float64) linear {
	k := c - ReferenceC
	return linear{1 + t.SpanPerK/100*k, t.ZeroPerK * k}
}

// check refuses an effect that leaves no span; name is the table of its settings.
func (t Temperature) check(name string, atC float64) error {
	if err := setting.First(
		setting.Number(name+".zero_per_k", t.ZeroPerK),
		setting.Number(name+".span_per_k_percent", t.SpanPerK)); err != nil {
		return err
	}
	if t.at(atC).Gain <= 0 {
		return setting.Refuse(name+".span_per_k_percent", t.SpanPerK, "one that leaves a span at %g °C", atC)
	}
	return nil
}

func (s *Sensor) check() error {
	if err := s.Scale.check("sensor"); err != nil {
		return err
	}
	if s.Upper < s.Lower {
		return setting.Refuse("sensor.upper", quantity(s.Upper, s.Unit),
			"more than sensor.lower, %s", quantity(s.Lower, s.Unit))
	}
	if err := setting.First(
		setting.NotNegative("sensor.minimum_span", s.MinimumSpan),
		setting.Number("sensor.low_side", s.LowSide),
		setting.Number("sensor.at_c", s.AtC)); err != nil {
		return err
	}
	if s.MinimumSpan > s.span() {
		return setting.Refuse("sensor.minimum_span", quantity(s.MinimumSpan, s.Unit),
			"up to %s, which is from one limit to the other", quantity(s.span(), s.Unit))
	}
	if s.AtC < absoluteZeroC {
		return setting.Refuse("sensor.at_c", quantity(s.AtC, unit.DegreeCelsius), "%g °C or more", absoluteZeroC)
	}
	return s.Temperature.check("sensor", s.AtC)
}

// span is how far the limits are apart.
func (s *Sensor) span() float64 { return s.Upper - s.Lower }

// sensor does what [Sensor] says: high side to value.
type sensor struct {
	lowSide      float64
	effect       linear // of temperature
	lower, upper float64
	over         float64 // it follows that far beyond them
	passed       bool    // the value is beyond a limit
	broken       bool    // there is no value
}

func (s *sensor) set(c *Sensor) {
	s.lowSide, s.effect = c.LowSide, c.Temperature.at(c.AtC)
	s.lower, s.upper, s.over = c.Lower, c.Upper, Overrange*c.span()
}

func (s *sensor) Step(dt, high float64) float64 {
	v := s.effect.Step(dt, high-s.lowSide)
	s.passed, s.broken = false, false
	switch {
	case v < s.lower:
		s.passed = true
		return max(v, s.lower-s.over)
	case v > s.upper:
		s.passed = true
		return min(v, s.upper+s.over)
	case math.IsNaN(v):
		s.broken = true
	}
	return v
}
