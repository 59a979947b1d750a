package transmitter

import (
	"fmt"
	"math"
	"time"

	"looptone/frame/unit"
)

// A SettingError refuses one setting of a [Config].
type SettingError struct {
	Setting   string // as a line file names it, for instance range.upper
	Got, Want string
}

func (e *SettingError) Error() string {
	return fmt.Sprintf("%s: got %s, want %s", e.Setting, e.Got, e.Want)
}

func refuse(setting string, got any, want string, args ...any) error {
	return &SettingError{setting, fmt.Sprint(got), fmt.Sprintf(want, args...)}
}

// quantity writes a value with the symbol of its unit.
func quantity(v float64, u unit.Code) string { return fmt.Sprintf("%g %v", v, u) }

// checkNumber refuses what no 32-bit float holds, which is how devices keep
// their numbers. So no sum or product of two settings overflows.
func checkNumber(setting string, v float64) error {
	if math.IsNaN(v) || math.Abs(v) > math.MaxFloat32 {
		return refuse(setting, v, "a number that a 32-bit float holds")
	}
	return nil
}

// checkNotNegative is [checkNumber] for what must not be negative.
func checkNotNegative(setting string, v float64) error {
	if v < 0 {
		return refuse(setting, v, "0 or more")
	}
	return checkNumber(setting, v)
}

func checkDuration(setting string, d, least time.Duration) error {
	if d < least {
		return refuse(setting, d, "%v or more", least)
	}
	return nil
}
