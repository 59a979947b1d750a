package linefile

import (
	"math"
	"time"

	"looptone/frame/userfile"
)

// longest is the longest time that a description may hold.
const longest = 1e9 // s, some 30 years

// seconds reads a number of seconds.
func seconds(t *userfile.Table, key string) time.Duration {
	return time.Duration(math.Round(t.Within(key, -longest, longest, 0) * 1e9))
}

// pair reads an array of two numbers above 0.
func pair(t *userfile.Table, key string, first, second float64) (a, b float64) {
	v, ok := t.Ask(key)
	if !ok {
		return first, second
	}
	if list, ok := v.([]any); ok && len(list) == 2 {
		a, _ = userfile.NumberOf(list[0])
		b, _ = userfile.NumberOf(list[1])
	}
	if a <= 0 || b <= 0 {
		t.RefuseValue(key, "two numbers above 0, for instance [%g, %g]", first, second)
	}
	return a, b
}
