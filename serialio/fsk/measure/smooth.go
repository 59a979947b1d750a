package measure

// boxBits is the length of the averages, in bits: the mark has no part in an average over
// whole bits, and the space little in one of three.
const boxBits = 3

// smooth is what moves slowly in x: up to some 50 Hz it is followed to a thousandth, and
// the phase is that of x. Four running averages do it: h twice, and h of what that has
// left. h is two averages. x is worked in, and of no use afterwards.
func smooth(dst, x, work []float64, bit float64) {
	half := max(int(boxBits*bit/2), 1)
	average(work, x, half)
	average(dst, work, half)
	for i := range x {
		x[i] -= dst[i]
	}
	average(work, x, half)
	average(x, work, half)
	for i := range dst {
		dst[i] += x[i]
	}
}

// average is the mean of x from half before to half behind each place, and of less at the
// ends: there it shrinks on both sides, so that a slope stays what it is.
func average(dst, x []float64, half int) {
	half = min(half, (len(x)-1)/2)
	var sum float64
	h := 0
	for ; h < half; h++ { // the beginning
		sum += x[2*h]
		dst[h] = sum / float64(2*h+1)
		sum += x[2*h+1]
	}
	sum += x[2*h]
	share := 1 / float64(2*half+1)
	dst[h] = sum * share
	middle := len(x) - 1 - half
	for i := half + 1; i <= middle; i++ {
		sum += x[i+half] - x[i-half-1]
		dst[i] = sum * share
	}
	for i := middle + 1; i < len(x); i++ {
		h := len(x) - 1 - i
		sum -= x[i-h-1] + x[i-h-2]
		dst[i] = sum / float64(2*h+1)
	}
}
