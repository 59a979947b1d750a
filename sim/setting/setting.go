// Package setting refuses settings: it says which one, what it is, and what
// would be right.
package setting

import (
	"cmp"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// An Error refuses one setting.
type Error struct {
	Name      string // as a line file has it, for instance range.upper
	Got, Want string // both empty where Err says why
	Err       error
}

func (e *Error) Error() string {
	if e.Err != nil {
		return e.Name + ": " + e.Err.Error()
	}
	return fmt.Sprintf("%s: got %s, want %s", e.Name, e.Got, e.Want)
}

func (e *Error) Unwrap() error { return e.Err }

// Refuse is an [*Error] that says what would be right.
func Refuse(name string, got any, want string, args ...any) error {
	return &Error{Name: name, Got: fmt.Sprint(got), Want: fmt.Sprintf(want, args...)}
}

// Number refuses what no 32-bit float holds, which is how devices keep their
// numbers. So no sum or product of two settings overflows.
func Number(name string, v float64) error {
	if math.IsNaN(v) || math.Abs(v) > math.MaxFloat32 {
		return Refuse(name, v, "a number that a 32-bit float holds")
	}
	return nil
}

// NotNegative is [Number] for what must not be negative.
func NotNegative(name string, v float64) error {
	if v < 0 {
		return Refuse(name, v, "0 or more")
	}
	return Number(name, v)
}

// Positive is [Number] for what must be more than 0.
func Positive(name string, v float64) error {
	if v <= 0 {
		return Refuse(name, v, "more than 0")
	}
	return Number(name, v)
}

// Within refuses what is not from least to most.
func Within(name string, v, least, most float64) error {
	if !(v >= least && v <= most) {
		return Refuse(name, v, "%g to %g", least, most)
	}
	return nil
}

// Duration refuses what is shorter than least.
func Duration(name string, d, least time.Duration) error {
	if d < least {
		return Refuse(name, Time(name, d), "%s or more", Time(name, least))
	}
	return nil
}

// Time is d as the setting with that name has it: the bare number of seconds or
// milliseconds where the name ends in _s or _ms, else as Go writes a duration.
func Time(name string, d time.Duration) string {
	switch {
	case strings.HasSuffix(name, "_ms"):
		return number(float64(d) / 1e6)
	case strings.HasSuffix(name, "_s"):
		return number(float64(d) / 1e9)
	}
	return d.String()
}

// number is the shortest decimal that reads back as v.
func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// First is the first of errs that is not nil.
func First(errs ...error) error { return cmp.Or(errs...) }
