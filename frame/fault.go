package frame

import (
	"errors"
	"fmt"
)

// What was wrong with a frame. A [FaultError] wraps one of these.
var (
	ErrCheckByte = errors.New("does not match")
	ErrFrameType = errors.New("has an unknown frame type")
	ErrByteCount = errors.New("leaves no room for the two status bytes of a reply")
	ErrParity    = errors.New("has a parity error")
	ErrFraming   = errors.New("has a framing error")
	ErrGap       = errors.New("comes after a gap")
	ErrCut       = errors.New("is missing: the input ends, or falls silent")
	ErrTrailing  = errors.New("is one too many: the frame ended before it")
)

// Field is a part of a frame.
type Field uint8

const (
	FieldDelimiter Field = iota + 1
	FieldAddress
	FieldExpansion
	FieldCommand
	FieldByteCount
	FieldStatus
	FieldData
	FieldCheckByte
)

// String is the field's name in the trade.
func (f Field) String() string {
	return [...]string{"", "delimiter", "address", "expansion", "command",
		"byte count", "status", "data", "check byte"}[f]
}

// A FaultError says what was wrong with a frame and where.
type FaultError struct {
	Start     int64 // index of the delimiter in its stream
	Field     Field // where the reading stood
	At        int64 // index of the character in its stream
	Compared  bool  // whether Got and Want mean something
	Got, Want byte
	Err       error // one of this package's sentinels
}

func (e *FaultError) Error() string {
	s := fmt.Sprintf("frame at byte %d: %s at byte %d %v", e.Start, e.Field, e.At, e.Err)
	if e.Compared {
		s += fmt.Sprintf(" (got %02x, want %02x)", e.Got, e.Want)
	}
	return s
}

func (e *FaultError) Unwrap() error { return e.Err }
