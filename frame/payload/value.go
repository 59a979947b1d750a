package payload

import (
	"encoding/binary"
	"encoding/hex"
	"math"
	"strconv"

	"looptone/frame/unit"
)

// Value is a field as it stands in data. It shares its bytes with them.
type Value struct {
	Field      *Field
	Slot       int    // of a repeated group, from 0; -1 outside
	At         int    // offset of Raw in the data
	Raw        []byte // empty only for bytes that another field counts
	Unit       unit.Code
	HasUnit    bool
	Class      unit.Class // of the variable, 0 where not known: the codes 170 to 219 depend on it
	Incomplete bool       // the data end within the field
}

// UnitSymbol is the symbol of the unit, "" without one.
func (v *Value) UnitSymbol() string {
	if !v.HasUnit {
		return ""
	}
	return v.Unit.Symbol(v.Class)
}

// Number is a value that is a number: exact for whole numbers and floats, in
// seconds for times. ok is false where the value is none, is not finite, or is
// incomplete.
func (v *Value) Number() (x float64, ok bool) {
	switch {
	case v.Incomplete:
		return 0, false
	case v.Field.Type.whole():
		return float64(v.whole()), true
	case v.Field.Type == Time:
		return Duration(v.whole()).Seconds(), true
	case v.Field.Type == Float:
		x = float64(v.float())
		return x, !math.IsNaN(x) && !math.IsInf(x, 0)
	}
	return 0, false
}

// AppendNumber writes what [Value.Number] gives as a JSON number: the shortest
// decimal that is the same 32-bit float, seconds to the last digit.
func (v *Value) AppendNumber(dst []byte) ([]byte, bool) {
	switch t := v.Field.Type; {
	case v.Incomplete:
		return dst, false
	case t == Float:
		return appendFloat(dst, v.float())
	case t == Time:
		return appendSeconds(dst, v.whole()), true
	case t.whole():
		return strconv.AppendUint(dst, uint64(v.whole()), 10), true
	}
	return dst, false
}

// AppendText writes a value that is text: characters without the padding and
// the blanks at their end, a date as yyyy-mm-dd, uninterpreted bytes as hex. ok
// is false where the value is none, is a day that does not exist, or is
// incomplete.
func (v *Value) AppendText(dst []byte) (text []byte, ok bool) {
	if v.Incomplete {
		return dst, false
	}
	switch v.Field.Type {
	case PackedASCII:
		return trimBlanks(AppendUnpacked(dst, v.Raw), len(dst)), true
	case Latin1:
		return trimBlanks(AppendFromLatin1(dst, v.Raw), len(dst)), true
	case Date:
		return AppendDateText(dst, v.Raw)
	case Bytes:
		return hex.AppendEncode(dst, v.Raw), true
	}
	return dst, false
}

// Meaning says in words what number and text leave open: the meaning of an
// enumeration, "not a number", "infinity", "-infinity", "no such day",
// "incomplete". "" where there is nothing to say.
func (v *Value) Meaning() string {
	switch {
	case v.Incomplete:
		return "incomplete"
	case v.Field.Type == Enumeration:
		return v.Field.table().Text(v.whole())
	case v.Field.Type == Date && !dayExists(v.Raw):
		return "no such day"
	case v.Field.Type != Float:
		return ""
	}
	switch x := float64(v.float()); {
	case math.IsNaN(x):
		return "not a number"
	case math.IsInf(x, 1):
		return "infinity"
	case math.IsInf(x, -1):
		return "-infinity"
	}
	return ""
}

// AppendNames appends what a set of flags says, lowest bit first; nothing for
// other values.
func (v *Value) AppendNames(dst []string) []string {
	if v.Field.Type != Flags || v.Incomplete {
		return dst
	}
	return v.Field.table().AppendNames(dst, v.whole(), v.Field.bits())
}

// whole is the number in the bytes, or in the value's bits of them.
func (v *Value) whole() uint32 { return v.Field.Bits.of(bigEndian(v.Raw)) }

func (v *Value) float() float32 { return math.Float32frombits(v.whole()) }

func bigEndian(b []byte) (n uint32) {
	if len(b) == 4 { // as mostly
		return binary.BigEndian.Uint32(b)
	}
	for _, c := range b {
		n = n<<8 | uint32(c)
	}
	return n
}

// of cuts the bits out of n.
func (b Bits) of(n uint32) uint32 {
	if b.Width == 0 {
		return n
	}
	return n >> b.Low & (1<<b.Width - 1)
}

// bits is how many bits a whole number has.
func (f *Field) bits() int {
	if f.Bits.Width > 0 {
		return int(f.Bits.Width)
	}
	return 8 * f.Size
}

// appendFloat writes the shortest decimal; very large and small ones with an
// exponent. ok is false for what is not finite.
func appendFloat(dst []byte, x float32) (text []byte, ok bool) {
	size := math.Abs(float64(x))
	if !(size <= math.MaxFloat32) { // nor is that so of what is not a number
		return dst, false
	}
	format := byte('f')
	if size != 0 && (size < 1e-6 || size >= 1e21) {
		format = 'e'
	}
	return strconv.AppendFloat(dst, float64(x), format, -1, 32), true
}

// trimBlanks cuts the blanks at the end of b, down to its first n bytes.
func trimBlanks(b []byte, n int) []byte {
	for len(b) > n && b[len(b)-1] == ' ' {
		b = b[:len(b)-1]
	}
	return b
}
