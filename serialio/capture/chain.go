package capture

import (
	"math/bits"

	"github.com/sigurn/crc16"
)

// firstSeed is what the CRC of a section's first line is seeded with.
const firstSeed = 0xffff

// sealLen is the length of what seals a line: " *hhhh".
const sealLen = 6

var x25 = crc16.MakeTable(crc16.CRC16_X_25)

// chain follows the CRCs by which every line vouches for the one in front of it.
type chain struct {
	good uint16 // of the last good line
	bad  uint16 // of the bad line behind it, as it stands there
	gone bool   // there is such a line
}

// crcOf is the CRC of a line. The seed takes the place of the ffff that the
// register otherwise begins with.
//
// Source: RFC 1662, appendix C.2 (the register, which shifts right; the package
// crc16 shifts left).
func crcOf(text []byte, seed uint16) uint16 {
	return crc16.Complete(crc16.Update(bits.Reverse16(seed), text, x25), x25)
}

// check takes the next line. Behind a bad one it may continue that or the last
// good one; want is the likelier CRC.
func (c *chain) check(text []byte, got uint16) (want uint16, ok bool) {
	want = crcOf(text, c.good)
	ok = got == want
	if c.gone && !ok {
		want = crcOf(text, c.bad)
		ok = got == want
	}
	if c.bad, c.gone = got, !ok; ok {
		c.good = got
	}
	return want, ok
}

// torn takes a line without a CRC.
func (c *chain) torn() { c.gone = false }

// cutSeal divides a line into its text and its CRC, if it ends with one.
func cutSeal(line []byte) (text []byte, crc uint16, ok bool) {
	at := len(line) - sealLen
	if at < 0 || line[at] != ' ' || line[at+1] != '*' {
		return line, 0, false
	}
	for _, c := range line[at+2:] {
		digit := class[c]
		if digit >= blank || 'A' <= c && c <= 'F' { // a bit that fell over makes an A of an a
			return line, 0, false
		}
		crc = crc<<4 | uint16(digit)
	}
	return line[:at], crc, true
}
