package payload

import (
	"fmt"
	"unicode/utf8"
)

// AppendLatin1 writes text as size bytes of ISO 8859-1, padded with 00.
//
// Source: Flowserve LMENIM2340-00, p.57.
func AppendLatin1(dst []byte, text string, size int) ([]byte, error) {
	if n := utf8.RuneCountInString(text); n > size {
		return dst, tooLong(n, size)
	}
	start, place := len(dst), 0
	for _, c := range text {
		place++
		if c == 0 || c > 0xff {
			return dst[:start], fmt.Errorf("%w %q at place %d: want characters of ISO 8859-1", ErrCharacter, c, place)
		}
		dst = append(dst, byte(c))
	}
	return append(dst, make([]byte, size-place)...), nil
}

// AppendFromLatin1 writes raw, up to its first 00, as UTF-8.
func AppendFromLatin1(dst, raw []byte) []byte {
	for _, c := range raw {
		if c == 0 {
			break
		}
		dst = utf8.AppendRune(dst, rune(c))
	}
	return dst
}
