package measure

import "math"

// A Spread is what several measurements of one thing came to. N is 0 where there were
// none, and then nothing else counts.
type Spread struct {
	N           int
	Mean        float64 // weighted by how much each of them tells
	SD          float64 // standard deviation, weighted as well
	Least, Most float64
}

// A tally adds up measurements of one thing.
type tally struct {
	n            int
	weight       float64
	mean, square float64 // square: weighted sum of squares around the mean
	least, most  float64
}

func (t *tally) add(x, weight float64) {
	if !(weight > 0) || math.IsNaN(x) || math.IsInf(x, 0) {
		return
	}
	if t.n == 0 {
		t.least, t.most = x, x
	}
	t.n++
	t.least, t.most = min(t.least, x), max(t.most, x)
	t.weight += weight
	off := x - t.mean
	t.mean += off * weight / t.weight
	t.square += weight * off * (x - t.mean)
}

func (t *tally) spread() Spread {
	if t.n == 0 {
		return Spread{}
	}
	return Spread{N: t.n, Mean: t.mean, SD: math.Sqrt(max(t.square, 0) / t.weight), Least: t.least, Most: t.most}
}

// A rms adds up squares.
type rms struct{ square, n float64 }

func (r *rms) add(x float64) {
	r.square += x * x
	r.n++
}

func (r *rms) value() float64 {
	if r.n == 0 {
		return 0
	}
	return math.Sqrt(r.square / r.n)
}
