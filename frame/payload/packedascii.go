package payload

import "fmt"

// packedLen is the number of characters in size bytes.
func packedLen(size int) int { return size / 3 * 4 }

// AppendPackedASCII writes text as size bytes of packed ASCII, padded with
// blanks: four characters of six bits in three bytes. The alphabet is 20 to 5F,
// so upper case only; size is a multiple of 3.
//
// Source: Spectrum Controls 1769sc manual 0300215-03, pp.8-3, 8-4.
func AppendPackedASCII(dst []byte, text string, size int) ([]byte, error) {
	if n := len([]rune(text)); n > packedLen(size) {
		return dst, tooLong(n, packedLen(size))
	}
	for i, c := range []rune(text) {
		if c < 0x20 || c > 0x5f {
			return dst, fmt.Errorf("%w %q at place %d: packed ASCII holds upper-case letters, digits and %s",
				ErrCharacter, c, i+1, "blank !\"#$%&'()*+,-./:;<=>?@[\\]^_")
		}
	}
	for at := 0; at < packedLen(size); at += 4 {
		var word uint32
		for i := at; i < at+4; i++ {
			c := byte(' ')
			if i < len(text) {
				c = text[i]
			}
			word = word<<6 | uint32(c&0x3f)
		}
		dst = append(dst, byte(word>>16), byte(word>>8), byte(word))
	}
	return dst, nil
}

// AppendUnpacked writes the characters of packed ASCII, padding included.
// Bytes at the end that are no whole group of three are left out.
func AppendUnpacked(dst, packed []byte) []byte {
	for ; len(packed) >= 3; packed = packed[3:] {
		word := bigEndian(packed[:3])
		for shift := 18; shift >= 0; shift -= 6 {
			c := byte(word>>shift) & 0x3f
			dst = append(dst, c|(^c&0x20)<<1) // bit 6 is the opposite of bit 5
		}
	}
	return dst
}
