package process

import "math"

// lag follows a value as a first-order lag does, exactly so while the value
// stays.
type lag struct {
	seconds   float64 // time constant; 0 follows at once
	value     float64
	dt, share float64 // share of the way that a step of dt seconds goes
}

func (l *lag) step(dt, toward float64) float64 {
	if dt != l.dt {
		l.dt, l.share = dt, -math.Expm1(-dt/l.seconds)
	}
	if l.seconds == 0 {
		l.value = toward
	} else {
		l.value += l.share * (toward - l.value)
	}
	return l.value
}
