package fsk

import "math"

// bit is how many inner samples a bit of a right clock has.
const bit = 8

// A cell is what a bit would be that has the eight inner samples from this one on.
type cell struct {
	mark, space [2]float32 // correlation with both tones, real and imaginary
	energy      float32
}

const (
	cellsHeld = 4096 // a power of two
	flat      = 16   // samples: the mean over them has a zero at 600 Hz and its multiples
	delay     = 2 * (flat - 1)
	refresh   = 1024 // a power of two: behind so many, running sums are added up anew
)

// A front takes away what moves slowly, and correlates with both tones. What moves
// slowly is a mean of a mean of 16 samples, taken away twice: 25 Hz are 90 dB down,
// mark is left as it is, and all frequencies are late alike.
type front struct {
	n      int64 // samples so far
	raw    [cellsHeld]float32
	slow   [2]slow
	cells  [cellsHeld]cell
	tables [2][48][2]float64 // both tones
	parts  [bit][5]float64   // what cells are the sum of
	sum    [5]float64
	turn   int     // place in the tables
	top    float64 // of the raw samples, not long ago
}

// slow is one half of what takes the movement away.
type slow struct {
	in, mean [flat]float64
	sum, of  float64
}

func newFront() *front {
	f := &front{turn: (48 - delay%48) % 48}
	for k := range 48 {
		for i, hz := range [...]float64{MarkHz, SpaceHz} {
			sin, cos := math.Sincos(2 * math.Pi * hz * float64(k) / innerRate)
			f.tables[i][k] = [2]float64{cos, -sin}
		}
	}
	return f
}

// take takes away the mean around each of the samples, which are so much older then.
func (s *slow) take(n int64, samples []float64) {
	sum, of := s.sum, s.of
	if n&(refresh-1) == 0 {
		sum, of = 0, 0
		for k := range flat {
			sum += s.in[k]
			of += s.mean[k]
		}
	}
	for k, v := range samples {
		i := n & (flat - 1)
		n++
		sum += v - s.in[i]
		s.in[i] = v
		mean := sum * (1.0 / flat)
		of += mean - s.mean[i]
		s.mean[i] = mean
		samples[k] = s.in[n&(flat-1)] - of*(1.0/flat)
	}
	s.sum, s.of = sum, of
}

// feed takes some samples of the inner rate, and spoils them. None but the first may be
// one at which running sums are added up anew.
func (f *front) feed(samples []float64) {
	f.keep(samples)
	f.slow[0].take(f.n, samples)
	f.slow[1].take(f.n, samples)
	f.correlate(samples)
	f.n += int64(len(samples))
}

func (f *front) keep(samples []float64) {
	n, top := f.n, f.top
	for _, v := range samples {
		f.raw[n&(cellsHeld-1)] = float32(v)
		n++
		top = max(top*(1-1.0/innerRate), math.Abs(v))
	}
	f.top = top
}

func (f *front) correlate(samples []float64) {
	if f.n&(refresh-1) == 0 {
		f.sum = f.afresh()
	}
	n, turn := f.n-delay, f.turn
	// Each in a variable of its own: only those can be in registers.
	re, im, spaceRe, spaceIm, energy := f.sum[0], f.sum[1], f.sum[2], f.sum[3], f.sum[4]
	for _, x := range samples {
		mark, space := &f.tables[0][turn], &f.tables[1][turn]
		if turn++; turn == len(f.tables[0]) {
			turn = 0
		}
		p := &f.parts[n&(bit-1)]
		a, b, c, d, e := x*mark[0], x*mark[1], x*space[0], x*space[1], x*x
		re += a - p[0]
		im += b - p[1]
		spaceRe += c - p[2]
		spaceIm += d - p[3]
		energy += e - p[4]
		p[0], p[1], p[2], p[3], p[4] = a, b, c, d, e
		z := &f.cells[(n-bit+1)&(cellsHeld-1)]
		z.mark[0], z.mark[1] = float32(re), float32(im)
		z.space[0], z.space[1] = float32(spaceRe), float32(spaceIm)
		z.energy = float32(energy)
		n++
	}
	f.sum[0], f.sum[1], f.sum[2], f.sum[3], f.sum[4] = re, im, spaceRe, spaceIm, energy
	f.turn = turn
}

func (f *front) afresh() (sum [5]float64) {
	for k := range f.parts {
		for i, v := range f.parts[k] {
			sum[i] += v
		}
	}
	return sum
}

// end is how far cells go.
func (f *front) end() int64 { return f.n - delay - bit + 1 }

func (f *front) cell(n int64) *cell { return &f.cells[n&(cellsHeld-1)] }

// sizes are the amplitudes of both tones in a cell.
func (c *cell) sizes() (mark, space float64) {
	return math.Sqrt(square(c.mark)) / (bit / 2), math.Sqrt(square(c.space)) / (bit / 2)
}

// loud is the amplitude of the louder tone in a cell, where the space tone has so much of
// the mark tone's; power is its square where both have the same.
func (c *cell) loud(space float64) float64 {
	return math.Sqrt(max(square(c.mark), square(c.space)/(space*space))) / (bit / 2)
}

func (c *cell) power() float64 {
	return max(square(c.mark), square(c.space)) / (bit / 2 * bit / 2)
}

func square(v [2]float32) float64 {
	return float64(v[0])*float64(v[0]) + float64(v[1])*float64(v[1])
}
