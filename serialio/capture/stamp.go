package capture

import (
	"time"

	"looptone/frame"
)

// A Stamp is a time in a capture, counted from the capture's start. The zero
// Stamp is an unknown time.
type Stamp struct {
	known bool
	since time.Duration
}

// After is the time since behind the start of the capture.
func After(since time.Duration) Stamp { return Stamp{true, since} }

// Since is how long behind the start of the capture s is, if that is known.
func (s Stamp) Since() (since time.Duration, known bool) { return s.since, s.known }

// plus is n characters later, or with a negative n earlier.
func (s Stamp) plus(n int64) Stamp {
	if !s.known {
		return Stamp{}
	}
	return After(s.since + frame.Characters(n))
}
