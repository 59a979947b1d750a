package serialio

import "time"

// A Modem is what stands behind a serial port, and how it is keyed. The zero Modem is
// none: RTS and DTR are on, every character counts, nothing comes back.
//
// Opening a serial port raises RTS and DTR for a moment, whatever is set here: no
// operating system asks before. Closing it lowers them, also when the program is killed:
// a modem that sends while RTS is low does so from then on. A pty has no modem lines:
// there RTS and DTR do nothing, and Open refuses a Carrier.
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

// modemLines are the lines of a port beside its characters, as they are: nothing is
// inverted yet. A [line] that has them keys its modem and sees the carrier. Their
// methods may be called while others are, and behind Close.
type modemLines interface {
	SetRTS(on bool) error
	SetDTR(on bool) error
	// Inputs are those of DCD, CTS, DSR and RI that are on.
	Inputs() (Lines, error)
}

// inverted are modem lines of which some are on when they are low.
type inverted struct {
	modemLines
	low Lines
}

func (i inverted) SetRTS(on bool) error { return i.modemLines.SetRTS(on != (i.low&RTS != 0)) }
func (i inverted) SetDTR(on bool) error { return i.modemLines.SetDTR(on != (i.low&DTR != 0)) }

func (i inverted) Inputs() (Lines, error) {
	on, err := i.modemLines.Inputs()
	return on ^ i.low&(DCD|CTS|DSR|RI), err
}

// modemOf is how m is reached over l; nil where l has no modem lines.
func modemOf(l line, m Modem) modemLines {
	if lines, ok := l.(modemLines); ok {
		return inverted{lines, m.Invert}
	}
	return nil
}

// carrierDrop is by when a modem's carrier has gone, behind RTS: zero after 6 bits,
// and 3 ms until a receiver says so. At 1200 bit/s.
//
// Source: Texas Instruments, DAC8740H/DAC8741H data sheet SBAS856D, HART timing table.
const carrierDrop = 8 * time.Millisecond

// settle gives the modem behind l its state before anybody listens, and waits until a
// carrier that opening has put on the line is gone. The zero Modem is left as it is.
func settle(l line, m Modem) error {
	modem := modemOf(l, m)
	switch {
	case m == Modem{}:
		return nil
	case modem == nil && m.Carrier != 0:
		return ErrNoLines
	case modem == nil:
		return nil
	}
	if err := modem.SetRTS(m.RTS == RTSOn); err != nil {
		return err
	}
	if err := modem.SetDTR(!m.DTROff); err != nil {
		return err
	}
	if m.RTS != RTSOn {
		time.Sleep(carrierDrop)
	}
	return nil
}
