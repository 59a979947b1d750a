package frame

import "encoding/binary"

// CheckByte is the exclusive or of b: of everything from the delimiter to the
// last data byte. Over a whole frame, check byte included, it is 0.
//
// Source: Buerkert, Type 8605 description of communication, p.14.
func CheckByte(b []byte) byte {
	var word uint64
	for len(b) >= 8 {
		word ^= binary.LittleEndian.Uint64(b)
		b = b[8:]
	}
	word ^= word >> 32
	word ^= word >> 16
	sum := byte(word ^ word>>8)
	for _, c := range b {
		sum ^= c
	}
	return sum
}
