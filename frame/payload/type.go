package payload

import "fmt"

// Type is how a field's bytes are to be read.
type Type uint8

const (
	Unsigned    Type = iota + 1 // whole number of 1 to 4 bytes
	Float                       // IEEE 754, 4 bytes
	PackedASCII                 // four characters in three bytes
	Latin1                      // one character a byte, padded with 00
	Date                        // day, month, year - 1900
	Time                        // count of 1/32 ms, 4 bytes
	Enumeration                 // a number with a meaning
	Flags                       // a set of bits
	UnitCode                    // an engineering unit, 1 byte
	Bytes                       // uninterpreted
)

var typeNames = [...]string{"", "unsigned", "float", "packed ascii", "latin-1", "date", "time",
	"enumeration", "flags", "unit code", "bytes"}

// String is the type's name in a file of definitions.
func (t Type) String() string {
	if int(t) < len(typeNames) && t != 0 {
		return typeNames[t]
	}
	return fmt.Sprintf("type %d", uint8(t))
}

// MarshalText writes the name.
func (t Type) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// UnmarshalText reads a name.
func (t *Type) UnmarshalText(text []byte) error {
	for i, name := range typeNames {
		if i > 0 && name == string(text) {
			*t = Type(i)
			return nil
		}
	}
	return fmt.Errorf("no field type %q, want one of %s", text, enumerate(typeNames[1:]))
}

// whole reports whether a field of this type is a whole number.
func (t Type) whole() bool {
	return t == Unsigned || t == Enumeration || t == Flags || t == UnitCode
}

// Sizes are the smallest and the largest size of a type in bytes, and what it
// must be a multiple of.
func (t Type) Sizes() (smallest, largest, multiple int) {
	switch t {
	case Unsigned, Enumeration, Flags:
		return 1, 4, 1
	case Float, Time:
		return 4, 4, 1
	case UnitCode:
		return 1, 1, 1
	case Date:
		return 3, 3, 1
	case PackedASCII:
		return 3, 252, 3
	}
	return 1, 255, 1
}
