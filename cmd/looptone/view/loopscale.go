package view

import (
	"math"
	"strconv"
)

// roundingV is what a voltage may be short of a limit and still be enough: sums of
// decimal numbers are not exact.
const roundingV = 1e-9

// A scale is an axis: the numbers from low to high stand between two places.
type scale struct {
	low, high float64
	from, to  px
	step      float64 // between ticks: 1, 2 or 5 times a power of ten
}

// tickStep is the least plain step with which a span has at most so many steps.
func tickStep(span float64, most int) float64 {
	if span <= 0 {
		return 1
	}
	least := span / float64(most)
	step := math.Pow(10, math.Floor(math.Log10(least)))
	for _, times := range []float64{1, 2, 5} {
		if times*step >= least*(1-1e-9) {
			return times * step
		}
	}
	return 10 * step
}

// at is the place of a number, of one beyond an end that end.
func (s *scale) at(x float64) px {
	x = min(max(x, s.low), s.high)
	return s.from + px((x-s.low)/(s.high-s.low))*(s.to-s.from)
}

// shows reports whether a number is not beyond an end.
func (s *scale) shows(x float64) bool {
	return x >= s.low-roundingV && x <= s.high+roundingV
}

// ticks calls each with the numbers of the ticks and what stands at them.
func (s *scale) ticks(each func(x float64, label string)) {
	decimals := max(0, int(-math.Floor(math.Log10(s.step)+1e-9)))
	first, last := math.Ceil(s.low/s.step-1e-9), math.Floor(s.high/s.step+1e-9)
	for n := int64(first); n <= int64(last); n++ {
		x, label := float64(n)*s.step, "0"
		if n != 0 {
			label = strconv.FormatFloat(x, 'f', decimals, 64)
		}
		each(x, label)
	}
}
