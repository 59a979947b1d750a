package frame

import "fmt"

// Kind is what a frame is for: the low three bits of its delimiter.
type Kind uint8

const (
	BACK Kind = 1 // burst: a slave publishes without being asked
	STX  Kind = 2 // request of a master
	ACK  Kind = 6 // reply of a slave
)

// String gives the standard's name.
func (k Kind) String() string {
	switch k {
	case BACK:
		return "BACK"
	case STX:
		return "STX"
	case ACK:
		return "ACK"
	}
	return fmt.Sprintf("frame type %d", uint8(k))
}

// Known reports whether k is one of the three kinds that the standard defines.
func (k Kind) Known() bool { return k == BACK || k == STX || k == ACK }

// FromSlave reports whether frames of this kind carry the two status bytes.
func (k Kind) FromSlave() bool { return k == BACK || k == ACK }

// A Delimiter is the first byte behind the preambles. Its layout stands in the
// package documentation.
type Delimiter byte

// Kind is the frame type of the delimiter; see [Kind.Known].
func (d Delimiter) Kind() Kind { return Kind(d & 7) }

// Long reports whether a unique address of five bytes follows.
func (d Delimiter) Long() bool { return d&0x80 != 0 }

// Expansion is the number of expansion bytes behind the address, 0 to 3.
func (d Delimiter) Expansion() int { return int(d >> 5 & 3) }

// Physical is the type of the physical layer: 0 is FSK, anything else is not.
func (d Delimiter) Physical() uint8 { return uint8(d >> 3 & 3) }

// addressLen is the number of address bytes.
func (d Delimiter) addressLen() int {
	if d.Long() {
		return 5
	}
	return 1
}

// headerLen is the number of bytes from the delimiter to the byte count.
func (d Delimiter) headerLen() int { return 1 + d.addressLen() + d.Expansion() + 2 }
