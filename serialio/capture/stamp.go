package capture

import "time"

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
