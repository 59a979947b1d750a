package payload

import (
	"fmt"
	"strconv"
	"time"
)

const firstYear = 1900

// AppendDate writes a date, given as yyyy-mm-dd, as day, month and year - 1900.
//
// Source: Flowserve LMENIM2340-00, p.56.
func AppendDate(dst []byte, text string) ([]byte, error) {
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return dst, fmt.Errorf("%w: got %q, want yyyy-mm-dd", ErrDay, text)
	}
	year := day.Year() - firstYear
	if year < 0 || year > 255 {
		return dst, fmt.Errorf("%w of a year that fits: got %d, want %d to %d",
			ErrDay, day.Year(), firstYear, firstYear+255)
	}
	return append(dst, byte(day.Day()), byte(day.Month()), byte(year)), nil
}

// AppendDateText writes three bytes as yyyy-mm-dd; ok is false for a day that
// does not exist.
func AppendDateText(dst, raw []byte) (text []byte, ok bool) {
	if !dayExists(raw) {
		return dst, false
	}
	dst = strconv.AppendInt(dst, firstYear+int64(raw[2]), 10)
	for _, n := range [...]byte{raw[1], raw[0]} {
		dst = append(dst, '-', '0'+n/10, '0'+n%10)
	}
	return dst, true
}

func dayExists(raw []byte) bool {
	if len(raw) != 3 || raw[0] < 1 || raw[1] < 1 || raw[1] > 12 {
		return false
	}
	// The day before the first of the next month is the month's last.
	last := time.Date(firstYear+int(raw[2]), time.Month(raw[1])+1, 0, 0, 0, 0, 0, time.UTC)
	return int(raw[0]) <= last.Day()
}
