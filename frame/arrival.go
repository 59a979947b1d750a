package frame

import "time"

// Arrival is what a port hands on: characters that came in together, and when; or a
// carrier that went on or off. It is a value; whoever receives one owns its slices.
type Arrival struct {
	At      time.Time // when the read returned: the end of the last character, late by the port's latency
	Chars   []byte
	Marks   []MarkAt // Pos counts from the first of Chars
	Carrier int8     // +1: the carrier went on, -1: off, and there are no characters
	Echo    Echo     // that they are of what the port itself has sent
}

// Echo says whether characters are the echo of what a port has sent itself.
type Echo uint8

const (
	NoEcho      Echo = iota
	EchoWhole        // as they were sent
	EchoDamaged      // otherwise: somebody else has talked at the same time, or the modem garbles
)
