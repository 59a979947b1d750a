package loop

import (
	"math"
	"strconv"
)

// figure is a number with so many digits behind the point.
func figure(x float64, digits int) string {
	p := math.Pow10(digits)
	return strconv.FormatFloat(math.Round(x*p)/p+0, 'f', digits, 64)
}

// decimals is a number with no more digits than it needs, three behind the point at most.
func decimals(x float64) string {
	return strconv.FormatFloat(math.Round(x*1000)/1000+0, 'f', -1, 64)
}

// against is a number beside its limit: both with at least so many digits behind the
// point, the number with more where it would look like the limit and is not.
func against(got, want float64, digits int) (g, w string) {
	w = figure(want, digits)
	if exact := decimals(want); len(exact) > len(w) {
		w = exact
	}
	if math.Abs(got-want) <= rounding {
		return w, w
	}
	for d := digits; d < 9; d++ {
		if g = figure(got, d); figure(want, d) != g && w != g {
			break
		}
	}
	return g, w
}

// milliamperes is a current to a tenth.
func milliamperes(mA float64) string { return decimals(math.Round(mA*10)/10) + " mA" }
