package capture

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// moments reads the times that people's files have: numbers in a unit, with either
// decimal sign and with or without an exponent; RFC 3339, also with a blank for the T
// and without a zone, for which UTC is taken; or a time of day, which is counted from
// the midnight before the first one.
type moments struct {
	power int // of ten: a unit of numbers in nanoseconds

	origin   time.Time     // of time 0, from the first date
	day      time.Duration // midnight of the day that it is
	lastTime time.Duration // time of day that came last
	late     time.Duration // the finest step that was seen: so far a time can be wrong
}

var (
	errMoment = errors.New("is no time: want a number, 2031-03-01T03:10:07.12Z or 03:10:07.12")
	errFar    = errors.New("lies more than 100 years from time 0")
	errDated  = errors.New("is a time with a date behind times without, or the other way round: want all alike")
)

// units are powers of ten by the word for a unit of time: that many nanoseconds it is.
var units = map[string]int{
	"s": inSeconds, "sec": inSeconds, "secs": inSeconds, "second": inSeconds, "seconds": inSeconds,
	"ms": 6, "msec": 6, "millisecond": 6, "milliseconds": 6,
	"us": 3, "µs": 3, "μs": 3, "usec": 3, "microsecond": 3, "microseconds": 3,
	"ns": 0, "nsec": 0, "nanosecond": 0, "nanoseconds": 0,
	"ps": -3, "picosecond": -3, "picoseconds": -3,
	"fs": -6,
}

const inSeconds = 9

func newMoments(power int) moments { return moments{power: power, late: -1, lastTime: -1} }

// lateness is how far the times can be wrong that were read so far.
func (m *moments) lateness() time.Duration { return max(0, m.late) }

// read reads a time.
func (m *moments) read(text string) (time.Duration, error) {
	var at, step time.Duration
	var err error
	switch {
	case !strings.Contains(text, ":"):
		at, step, err = readNumber(text, m.power)
	case strings.Contains(text[:strings.IndexByte(text, ':')], "-"):
		at, step, err = m.dated(text)
	default:
		at, step, err = m.timeOfDay(text)
	}
	if err == nil && (at > longest || at < -longest) {
		err = errFar
	}
	if err != nil {
		return 0, fmt.Errorf("%q %w", shortened(text), err)
	}
	if m.late < 0 || step < m.late {
		m.late = step
	}
	return at, nil
}

// dated reads a date and a time. Time 0 is the first of them.
func (m *moments) dated(text string) (at, step time.Duration, err error) {
	text = strings.Replace(strings.Replace(text, " ", "T", 1), ",", ".", 1)
	clock, err := ParseClock(text)
	if err != nil {
		clock, err = ParseClock(text + "Z")
	}
	switch {
	case err != nil:
		return 0, 0, errMoment
	case m.lastTime >= 0:
		return 0, 0, errDated
	case m.origin.IsZero():
		m.origin = clock
	}
	_, rest, _ := strings.Cut(text, ".")
	return clock.Sub(m.origin), stepOf(decimals([]byte(rest))), nil
}

// timeOfDay reads hours, minutes and seconds. One that lies more than twelve hours
// before the last one is of the next day, and one so far behind it of the day before.
func (m *moments) timeOfDay(text string) (at, step time.Duration, err error) {
	parts := strings.Split(text, ":")
	if len(parts) != 3 {
		return 0, 0, errMoment
	}
	if !m.origin.IsZero() {
		return 0, 0, errDated
	}
	hours, err1 := strconv.ParseUint(parts[0], 10, 8)
	minutes, err2 := strconv.ParseUint(parts[1], 10, 8)
	seconds, step, err3 := readNumber(parts[2], inSeconds)
	if errors.Join(err1, err2, err3) != nil || hours > 23 || minutes > 59 || seconds < 0 || seconds >= 61*time.Second {
		return 0, 0, errMoment
	}
	at = time.Duration(hours)*time.Hour + time.Duration(minutes)*time.Minute + seconds
	switch {
	case m.lastTime-at > 12*time.Hour:
		m.day += 24 * time.Hour
	case m.day > 0 && at-m.lastTime > 12*time.Hour: // of two streams, the other one is a little behind
		return m.day - 24*time.Hour + at, step, nil
	}
	m.lastTime = at
	return m.day + at, step, nil
}

// stepOf is the step of a number of seconds with so many places.
func stepOf(places int) time.Duration {
	step := time.Second
	for range min(places, 9) {
		step /= 10
	}
	return step
}

// readNumber reads a number of units of 10^power nanoseconds, exactly but for what is
// less than one of them, and its step: what its last digit counts.
func readNumber(text string, power int) (at, step time.Duration, err error) {
	digits, negative := strings.CutPrefix(text, "-")
	if !negative {
		digits = strings.TrimPrefix(digits, "+")
	}
	exponent := 0
	if i := strings.IndexAny(digits, "eE"); i >= 0 {
		exponent, err = strconv.Atoi(digits[i+1:])
		if err != nil || exponent < -30 || exponent > 30 {
			return 0, 0, errMoment
		}
		digits = digits[:i]
	}
	value, places, ok := readDigits(digits)
	if !ok {
		return 0, 0, errMoment
	}
	at, ok = scaled(value, power+exponent-places)
	if !ok {
		return 0, 0, errFar
	}
	step, _ = scaled(1, power+exponent-places)
	if negative {
		at = -at
	}
	return at, step, nil
}

// readDigits reads digits with at most one decimal sign among them. Places that are
// too many are left out.
func readDigits(text string) (value int64, places int, ok bool) {
	point, any := false, false
	for _, c := range []byte(text) {
		switch {
		case (c == '.' || c == ',') && !point:
			point = true
		case c < '0' || c > '9':
			return 0, 0, false
		case value > math.MaxInt64/10-1 && !point:
			return 0, 0, false
		case value > math.MaxInt64/10-1:
		default:
			value = value*10 + int64(c-'0')
			any = true
			if point {
				places++
			}
		}
	}
	return value, places, any
}

// scaled is value × 10^power nanoseconds; false where a Duration does not hold it.
func scaled(value int64, power int) (time.Duration, bool) {
	for ; power < 0 && value != 0; power++ {
		value /= 10
	}
	for ; power > 0 && value != 0; power-- {
		if value > math.MaxInt64/10 {
			return 0, false
		}
		value *= 10
	}
	return time.Duration(value), true
}

// shortened is the beginning of text for a sentence.
func shortened(text string) string {
	const most = 40
	if len(text) > most {
		return text[:most] + "…"
	}
	return text
}
