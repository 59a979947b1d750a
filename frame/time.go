package frame

import "time"

// Character is the time that a character takes on the line, to the nanosecond
// below: 11 bits at 1200 bit/s.
//
// Source: FieldComm Group support article 8000040648.
const Character = 11 * time.Second / 1200

// Characters is the time that n characters take one behind the other.
func Characters(n int64) time.Duration { return time.Duration(n) * 11 * time.Second / 1200 }
