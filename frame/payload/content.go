package payload

import (
	"fmt"
	"math"
	"time"
)

// Content is what a field is to hold. Which member counts depends on the
// field's type: Number for whole numbers, floats, enumerations, flags, units
// and times (in seconds), Text for characters and dates (yyyy-mm-dd), Bytes for
// uninterpreted bytes. Bytes that are not nil count for every type: they are
// the field's bytes as they stand in data.
type Content struct {
	Number float64
	Text   string
	Bytes  []byte
}

// notANumber is sent for a value that a device does not have.
//
// Source: from memory.
const notANumber = 0x7fa00000

// append writes c as the bytes of f; short allows fewer than Size of them.
func (f *Field) append(dst []byte, c Content, short bool) ([]byte, error) {
	switch {
	case c.Bytes != nil || f.Type == Bytes:
		return f.appendRaw(dst, c.Bytes, short)
	case f.Type == PackedASCII:
		return AppendPackedASCII(dst, c.Text, f.Size)
	case f.Type == Latin1:
		return AppendLatin1(dst, c.Text, f.Size)
	case f.Type == Date:
		return AppendDate(dst, c.Text)
	}
	n, err := f.number(c.Number)
	if err != nil {
		return dst, err
	}
	return appendWhole(dst, n, f.Size), nil
}

func (f *Field) appendRaw(dst, raw []byte, short bool) ([]byte, error) {
	switch {
	case f.SizeField != "" && len(raw) <= maxCounted:
		return append(dst, raw...), nil
	case f.SizeField != "":
		return dst, tooMany(len(raw))
	case len(raw) == f.Size, short && len(raw) > 0 && len(raw) < f.Size:
		return append(dst, raw...), nil
	case short:
		return dst, &lengthError{fmt.Sprintf("has %d bytes, want 1 to %d", len(raw), f.Size)}
	}
	return dst, &lengthError{fmt.Sprintf("has %d bytes, want %d", len(raw), f.Size)}
}

// bitsOf is the content of a field that shares its bytes.
func (f *Field) bitsOf(c Content) (uint32, error) {
	if c.Bytes != nil {
		if _, err := f.appendRaw(nil, c.Bytes, false); err != nil {
			return 0, err
		}
		return f.Bits.of(bigEndian(c.Bytes)), nil
	}
	return f.number(c.Number)
}

// number is x as it stands in the field.
func (f *Field) number(x float64) (uint32, error) {
	switch f.Type {
	case Float:
		return floatBits(x)
	case Time:
		return countOf(x)
	}
	most := float64(uint64(1)<<f.bits() - 1)
	switch {
	case math.IsNaN(x):
		return 0, ErrNumber
	case x < 0:
		return 0, fmt.Errorf("%w: got %v, want 0 to %.0f", ErrTooSmall, x, most)
	case x > most:
		return 0, fmt.Errorf("%w: got %v, want 0 to %.0f", ErrTooLarge, x, most)
	case x != math.Trunc(x):
		return 0, fmt.Errorf("%w: got %v", ErrWhole, x)
	}
	return uint32(x), nil
}

func floatBits(x float64) (uint32, error) {
	switch f := float32(x); {
	case math.IsNaN(x):
		return notANumber, nil
	case math.IsInf(float64(f), 0) && !math.IsInf(x, 0):
		return 0, fmt.Errorf("%w: got %v, want at most %v either way", ErrTooLarge, x, float32(math.MaxFloat32))
	default:
		return math.Float32bits(f), nil
	}
}

func countOf(seconds float64) (uint32, error) {
	most := MaxDuration.Seconds()
	switch {
	case math.IsNaN(seconds):
		return 0, ErrNumber
	case seconds < 0:
		return 0, fmt.Errorf("%w: got %v s, want 0 to %v s", ErrTooSmall, seconds, most)
	case seconds > most:
		return 0, fmt.Errorf("%w: got %v s, want 0 to %v s", ErrTooLarge, seconds, most)
	}
	count, _ := Count(time.Duration(seconds * float64(time.Second)))
	return count, nil
}

// appendWhole writes the low size bytes of n.
func appendWhole(dst []byte, n uint32, size int) []byte {
	for i := size - 1; i >= 0; i-- {
		dst = append(dst, byte(n>>(8*i)))
	}
	return dst
}
