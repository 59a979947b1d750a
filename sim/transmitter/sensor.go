package transmitter

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
