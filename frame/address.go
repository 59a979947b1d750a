package frame

import (
	"encoding/hex"
	"errors"
	"fmt"
	"strconv"
)

// MaxPolling is the highest polling address of revisions 6 and 7;
// MaxPolling5 that of revision 5.
//
// Source: Texas Instruments SLAAEH0, section 1.5.3 (0 to 15); low six bits in
// later revisions: Chinese "HART communication protocol VER 1.6" guide.
const (
	MaxPolling  = 63
	MaxPolling5 = 15
)

// An Address names one device, or all. It is comparable. The zero Address is
// polling address 0.
type Address struct {
	long bool
	bits uint64 // 6 bits of a polling address, 38 of a unique one
}

// Broadcast is the unique address that every device listens to.
//
// Source: Buerkert, Type 8605 description of communication, p.13 (all 38 bits 0).
var Broadcast = Unique(0, 0)

const uniqueBits = 1<<38 - 1

// Polling is the short address n, of which the low six bits count.
func Polling(n uint8) Address { return Address{bits: uint64(n & MaxPolling)} }

// Unique is the long address of a device: the low 14 bits of its expanded
// device type (revision 5: six bits of the maker's code and the device type)
// and the low 24 bits of its device ID.
func Unique(deviceType uint16, deviceID uint32) Address {
	return Address{true, (uint64(deviceType)<<24 | uint64(deviceID&0xffffff)) & uniqueBits}
}

// UniqueOf is the unique address of a device that has told, in reply to command
// 0, its universal revision, maker, device type (from revision 7 on the expanded
// one, which stands for the maker too) and device ID.
//
// Source: Buerkert, Type 8605 description of communication, p.13 (revision 5);
// Texas Instruments SLAAEH0, section 1.5.3 (expanded device type).
func UniqueOf(revision uint8, maker, deviceType uint16, deviceID uint32) Address {
	if revision < 7 {
		deviceType = maker<<8 | deviceType&0xff
	}
	return Unique(deviceType, deviceID)
}

// ParseUnique reads a unique address as String writes it: ten hex digits. The
// two flag bits at its top are ignored.
func ParseUnique(s string) (Address, error) {
	if len(s) != 10 {
		return Address{}, fmt.Errorf("unique address %q has %d characters, want 10 hex digits", s, len(s))
	}
	b, err := hex.DecodeString(s)
	if err != nil {
		var digit hex.InvalidByteError
		errors.As(err, &digit)
		return Address{}, fmt.Errorf("unique address %q: %q is no hex digit", s, rune(digit))
	}
	return addressOf(b), nil
}

// IsPolling gives the polling address, if a is one.
func (a Address) IsPolling() (n uint8, ok bool) { return uint8(a.bits), !a.long }

// IsBroadcast reports whether a is the broadcast address.
func (a Address) IsBroadcast() bool { return a == Broadcast }

// DeviceType is the low 14 bits of the expanded device type of a unique
// address, DeviceID its low 24 bits; both 0 for a polling address.
func (a Address) DeviceType() uint16 {
	if !a.long {
		return 0
	}
	return uint16(a.bits >> 24)
}

// DeviceID: see DeviceType.
func (a Address) DeviceID() uint32 {
	if !a.long {
		return 0
	}
	return uint32(a.bits & 0xffffff)
}

// String is the number of a polling address, or the ten hex digits of a unique
// one with the two flag bits cleared.
func (a Address) String() string {
	b, _ := a.AppendText(nil)
	return string(b)
}

// AppendText writes what String gives to dst. There is no error.
func (a Address) AppendText(dst []byte) ([]byte, error) {
	if !a.long {
		return strconv.AppendUint(dst, a.bits, 10), nil
	}
	var text [10]byte
	for i, bits := len(text)-1, a.bits; i >= 0; i, bits = i-1, bits>>4 {
		text[i] = "0123456789abcdef"[bits&0xf]
	}
	return append(dst, text[:]...), nil
}

// addressOf reads one or five address bytes without their two flag bits.
func addressOf(b []byte) Address {
	a := Address{long: len(b) > 1, bits: uint64(b[0] & 0x3f)}
	for _, c := range b[1:] {
		a.bits = a.bits<<8 | uint64(c)
	}
	return a
}

// append writes the address bytes; flags are bits 7 and 6 of the first.
func (a Address) append(dst []byte, flags byte) []byte {
	if !a.long {
		return append(dst, flags|byte(a.bits))
	}
	return append(dst, flags|byte(a.bits>>32),
		byte(a.bits>>24), byte(a.bits>>16), byte(a.bits>>8), byte(a.bits))
}
