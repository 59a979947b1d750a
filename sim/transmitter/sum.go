package transmitter

// A sum adds up numbers without losing those that are small beside it: what
// rounding takes off each time is added up too.
//
// Source: common practice (compensated summation).
type sum struct{ high, low float64 }

func (s *sum) add(v float64) {
	high := s.high + v
	part := high - s.high // of v, as far as it fitted
	s.low += (s.high - (high - part)) + (v - part)
	s.high = high
}

func (s *sum) value() float64 { return s.high + s.low }
