package transmitter

// ReferenceC is the temperature at which a sensor measures right.
//
// Source: common practice (instruments are adjusted at 20 °C).
const ReferenceC = 20.0

// A Sensor turns the difference between its high and its low side into a value.
// The process acts on the high side.
type Sensor struct {
	Scale                   // its limits
	MinimumSpan float64     // how far apart the range values are at least, in its unit; 0: as near as one likes
	LowSide     float64     // what acts on its low side, in its unit; 0 for an open side or a vacuum
	Temperature Temperature // what its temperature does to it
	AtC         float64     // its temperature
}

// Temperature is what every kelvin away from ReferenceC does to a value.
type Temperature struct {
	ZeroPerK float64 // it is moved, in its unit
	SpanPerK float64 // it grows, in percent of itself
}

// sensor follows the process between its limits, in its own unit.
type sensor struct {
	lower, upper float64
	passed       bool // the process is beyond a limit
}

func (s *sensor) Step(_, in float64) float64 {
	s.passed = in < s.lower || in > s.upper
	switch {
	case in < s.lower:
		return s.lower
	case in > s.upper:
		return s.upper
	}
	return in
}
