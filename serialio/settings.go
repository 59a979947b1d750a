package serialio

import (
	"fmt"
	"math"
	"time"

	"go.bug.st/serial"
)

// BitRate is the usual speed of a line in bit/s, CharacterBits the length of a
// character on it: start bit, 8 data bits, odd parity, stop bit.
//
// Source: FieldComm Group support article 8000040648.
const (
	BitRate       = 1200
	CharacterBits = 11
)

// Settings of a port. There are always 8 data bits and 1 stop bit. The zero
// Settings are those of the standard.
type Settings struct {
	Baud   int // bit/s; 0 stands for [BitRate]
	Parity Parity
	Modem  Modem
}

// Parity is how a character is protected.
type Parity uint8

const (
	Odd Parity = iota
	Even
	NoParity // the character is one bit shorter
)

// Characters is how long n characters in a row take.
func (s Settings) Characters(n int) time.Duration {
	bits := int64(n) * CharacterBits
	if s.Parity == NoParity {
		bits -= int64(n)
	}
	return time.Duration(bits * int64(time.Second) / int64(s.baud()))
}

func (s Settings) baud() int {
	if s.Baud == 0 {
		return BitRate
	}
	return s.Baud
}

func (s Settings) check() error {
	switch {
	case s.Baud < 0:
		return fmt.Errorf("got %d baud, want at least 1", s.Baud)
	case int64(s.Baud) > math.MaxUint32: // which every way to set it takes
		return fmt.Errorf("got %d baud, want at most %d", s.Baud, uint32(math.MaxUint32))
	}
	return nil
}

// mode is s as the library wants it. Initial states of RTS and DTR are left
// out: with them a pty cannot be opened.
func (s Settings) mode() *serial.Mode {
	parity := [...]serial.Parity{Odd: serial.OddParity, Even: serial.EvenParity, NoParity: serial.NoParity}
	return &serial.Mode{BaudRate: s.baud(), DataBits: 8, Parity: parity[s.Parity]}
}
