package serialio

import "time"

// A Modem is what stands behind a serial port, and how it is keyed. The zero Modem is
// none: RTS and DTR are on, every character counts, nothing comes back.
type Modem struct {
	RTS     Keying
	DTROff  bool
	Invert  Lines         // that are on when their input or output is low
	Carrier Input         // that tells whether a carrier is there; what comes without one is dropped
	Echo    bool          // what is sent comes back, and is no message of anybody's
	Hold    time.Duration // that RTS stays on behind the last character, at least
}

// Keying is what RTS does.
type Keying uint8

const (
	RTSOn   Keying = iota
	RTSOff         // always off
	RTSKeys        // on while something is sent
)

// Lines are modem lines, a bit each.
type Lines uint8

const (
	RTS Lines = 1 << iota
	DTR
	DCD
	CTS
	DSR
	RI
)

// An Input is the modem line that tells of the carrier: DCD, CTS, DSR or RI; 0 for none.
type Input = Lines
