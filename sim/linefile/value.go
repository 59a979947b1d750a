package linefile

import (
	"math"
	"time"

	"looptone/frame/userfile"
	"looptone/sim"
)

// longest is the longest time that a description may hold.
const longest = 1e9 // s, some 30 years

// seconds reads a number of seconds, which are not negative.
func seconds(t *userfile.Table, key string) time.Duration {
	return time.Duration(math.Round(t.Within(key, 0, longest, 0) * 1e9))
}

// duration reads a text such as "10s".
func duration(t *userfile.Table, key string, least, most, otherwise time.Duration) time.Duration {
	v, ok := t.Ask(key)
	if !ok {
		return otherwise
	}
	text, _ := v.(string)
	d, err := time.ParseDuration(text)
	if err != nil || d < least || d > most {
		t.RefuseValue(key, "%v to %v, for instance %q", least, most, otherwise)
		return otherwise
	}
	return d
}

// span reads a time: a text such as "12s", or a number of seconds.
func span(t *userfile.Table, key string) (at sim.Tick, given bool) {
	v, given := t.Ask(key)
	if !given {
		return 0, false
	}
	s, ok := userfile.NumberOf(v)
	if text, is := v.(string); is {
		d, err := time.ParseDuration(text)
		s, ok = d.Seconds(), err == nil
	}
	if !ok || s < 0 || s > longest {
		t.RefuseValue(key, `a time such as "12s", or seconds, up to %g`, longest)
		return 0, false
	}
	return sim.Tick(math.Round(s * float64(sim.Second))), true
}

// pair reads an array of two numbers; ok is false where there is none, or was
// refused.
func pair(t *userfile.Table, key, example string) (a, b float64, ok bool) {
	v, ok := t.Ask(key)
	if !ok {
		return 0, 0, false
	}
	if a, b, ok = pairOf(v); !ok {
		t.RefuseValue(key, "two numbers, for instance %s", example)
	}
	return a, b, ok
}

// pairOf is a value as two numbers.
func pairOf(v any) (a, b float64, ok bool) {
	list, _ := v.([]any)
	if len(list) != 2 {
		return 0, 0, false
	}
	a, first := userfile.NumberOf(list[0])
	b, second := userfile.NumberOf(list[1])
	return a, b, first && second
}
