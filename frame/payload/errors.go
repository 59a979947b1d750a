package payload

import (
	"errors"
	"fmt"
	"strings"
)

// Why contents cannot be written. A [MissingError] wraps ErrMissing, a [FieldError]
// one of the others.
var (
	ErrMissing   = errors.New("is missing")
	ErrTooLarge  = errors.New("is too large")
	ErrTooSmall  = errors.New("is too small")
	ErrNumber    = errors.New("is not a number")
	ErrWhole     = errors.New("is not a whole number")
	ErrLength    = errors.New("has the wrong length")
	ErrCharacter = errors.New("has the character")
	ErrDay       = errors.New("is not a day")
	ErrUnit      = errors.New("is unknown")
	ErrMeaning   = errors.New("has no such meaning")
	ErrHex       = errors.New("is not in hex")
	ErrRepeated  = errors.New("is given too often")
	ErrNoField   = errors.New("no such field")
	ErrCount     = errors.New("is not the number of bytes")
)

// FieldError says which field of a layout could not be written, and why.
type FieldError struct {
	Field string
	Slot  int // -1 outside a repeated group
	Err   error
}

func (e *FieldError) Error() string {
	if e.Slot < 0 {
		return fmt.Sprintf("%s %v", e.Field, e.Err)
	}
	return fmt.Sprintf("slot %d: %s %v", e.Slot, e.Field, e.Err)
}

func (e *FieldError) Unwrap() error { return e.Err }

// lengthError reads better than its sentinel alone.
type lengthError struct{ text string }

func (e *lengthError) Error() string { return e.text }
func (e *lengthError) Unwrap() error { return ErrLength }

func tooLong(got, most int) error {
	return &lengthError{fmt.Sprintf("has %d characters, at most %d", got, most)}
}

// enumerate joins names for a sentence.
func enumerate(names []string) string { return strings.Join(names, ", ") }
