package measure

import "math"

// enoughRate is the least rate that samples are thinned to: it shows an edge to a
// hundredth of a bit.
const enoughRate = 48000

// A thinner makes the mean of some samples one, so that a signal at any rate is measured
// in the same memory.
type thinner struct {
	by  int // samples that one is made of
	n   int
	sum float64
}

func newThinner(rate float64) thinner { return thinner{by: max(int(rate/enoughRate), 1)} }

// add takes a sample, and now and then gives one.
func (t *thinner) add(x float64) (mean float64, ok bool) {
	t.sum += x
	t.n++
	if t.n < t.by {
		return 0, false
	}
	mean = t.sum / float64(t.by)
	t.n, t.sum = 0, 0
	return mean, true
}

// passes is what the means keep of an amplitude at so many radians a mean.
func (t *thinner) passes(w float64) float64 {
	if t.by == 1 {
		return 1
	}
	return math.Sin(w/2) / (float64(t.by) * math.Sin(w/2/float64(t.by)))
}

// middle is where a sample before thinning is among the thinned ones.
func (t *thinner) middle(at float64) float64 {
	return (at - float64(t.by-1)/2) / float64(t.by)
}
