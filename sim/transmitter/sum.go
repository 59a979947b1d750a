package transmitter

import "math"

// A sum adds up numbers without losing those that are small beside it: what
// rounding takes off each time is added up too.
//
// Source: common practice (compensated summation).
type sum struct{ high, low float64 }

func (s *sum) add(v float64) {
	larger, smaller := s.high, v
	if math.Abs(v) > math.Abs(s.high) {
		larger, smaller = v, s.high
	}
	s.high += v
	s.low += smaller - (s.high - larger)
}

func (s *sum) value() float64 { return s.high + s.low }
