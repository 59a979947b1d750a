package main

import "time"

// spoiltAgain is how long nobody is told again that messages come back spoilt.
const spoiltAgain = time.Minute

// spoilt says now and then that what was sent came back changed. The zero value
// has said nothing yet.
type spoilt struct{ said time.Time }

func (s *spoilt) tell(now time.Time, say func(string)) {
	if !s.said.IsZero() && now.Sub(s.said) < spoiltAgain {
		return
	}
	s.said = now
	say("what was sent came back changed: somebody else talked at the same time, or the modem garbles it")
}
