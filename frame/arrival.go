package frame

import "time"

// Arrival is what a port hands on: characters that came in together, and when.
// It is a value; whoever receives one owns its slices.
type Arrival struct {
	At    time.Time // when the read returned: the end of the last character, late by the port's latency
	Chars []byte
	Marks []MarkAt // Pos counts from the first of Chars
}
