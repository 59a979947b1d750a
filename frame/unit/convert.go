package unit

import (
	"errors"
	"fmt"
)

// ErrConversion tells that two units have no conversion between them.
var ErrConversion = errors.New("no conversion")

// Convert gives in unit to the value that is v in unit from. The result carries
// the rounding of two or three operations on float64. The error wraps
// [ErrConversion].
func Convert(v float64, from, to Code) (float64, error) {
	f, t := &table[from], &table[to]
	switch {
	case from == to:
		return v, nil
	case f.quantity != t.quantity:
		return 0, fmt.Errorf("%w from %v (%v) to %v (%v)", ErrConversion, from, f.quantity, to, t.quantity)
	case f.div == 0 || t.div == 0:
		return 0, fmt.Errorf("%w from %v to %v: no exact factor is defined", ErrConversion, from, to)
	}
	return (v-f.zero)*(f.mul*t.div)/(f.div*t.mul) + t.zero, nil
}
