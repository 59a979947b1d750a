package fsk

// What a clock can be wrong in.
const (
	ofPhase  = iota // of the mark tone
	ofDrift         // of that, a bit
	ofStart         // of the bits, as the phase that it makes in a space
	ofLength        // of a bit, likewise
	ofSkew          // by how much more a space turns than it ought to
	unknowns
)

// A fit explains errors of phases by what a clock can be wrong in, with the least squares.
type fit struct {
	of   [unknowns][unknowns]float64 // products of what each does to a phase
	errs [unknowns]float64           // and of that with the error
}

// What is known before anything is heard, as a weight in bits.
const (
	memory      = 0.82 // of what was seen, a character
	memoryLevel = 0.5  // of the amplitude
	holdDrift   = 100
	holdStart   = 0.3
	holdLength  = 30
	holdSkew    = 10
	holdEven    = 1500 // that there is no skew
	holdBoth    = 300  // that the bits' clock is that of the tones
	holdTones   = 100  // that both tones have one
	holdSpace   = 6    // that both are as loud
)

// add takes the error of the phase of bit i, with so many spaces before it.
func (f *fit) add(i, spaces, err float64, space bool) {
	h := [unknowns]float64{1, i, 0, 0, spaces}
	if space {
		h[ofStart], h[ofLength] = 1, i
	}
	for k, v := range h {
		if v == 0 {
			continue
		}
		for j := range k + 1 {
			f.of[k][j] += v * h[j]
		}
		f.errs[k] += v * err
	}
}

// known is what is known before anything is heard, as equations.
var known = func() (of [unknowns][unknowns]float64) {
	for _, e := range []struct {
		weight float64
		row    [unknowns]float64
	}{
		{1e-3, [unknowns]float64{ofPhase: 1}},
		{holdDrift, [unknowns]float64{ofDrift: 1}},
		{holdStart, [unknowns]float64{ofStart: 1}},
		{holdLength, [unknowns]float64{ofLength: 1}},
		{holdSkew + holdEven, [unknowns]float64{ofSkew: 1}},
		{holdBoth, [unknowns]float64{ofDrift: -modulation, ofLength: 1}},
		{holdTones, [unknowns]float64{ofDrift: -modulation, ofLength: 1, ofSkew: 1}},
	} {
		for k := range unknowns {
			for j := range unknowns {
				of[k][j] += e.weight * e.row[k] * e.row[j]
			}
		}
	}
	return of
}()

// solve is what explains the errors. Where bits and tones have one clock, apart is 0: the
// phase by which bits are longer than the tones tell. Where both tones have one, so is
// uneven: by how much more the space turns than the mark tells.
func (f *fit) solve(apart, uneven, skew float64) (x [unknowns]float64) {
	var m [unknowns][unknowns + 1]float64
	for k := range unknowns {
		for j := range unknowns {
			m[k][j] = f.of[max(k, j)][min(k, j)] + known[k][j]
		}
		m[k][unknowns] = f.errs[k]
	}
	both := holdBoth*apart - holdTones*uneven
	m[ofDrift][unknowns] -= modulation * both
	m[ofLength][unknowns] += both
	m[ofSkew][unknowns] -= holdEven*skew + holdTones*uneven
	for i := range unknowns {
		for k := i + 1; k < unknowns; k++ {
			q := m[k][i] / m[i][i]
			for j := i; j <= unknowns; j++ {
				m[k][j] -= q * m[i][j]
			}
		}
	}
	for i := unknowns - 1; i >= 0; i-- {
		x[i] = m[i][unknowns]
		for j := i + 1; j < unknowns; j++ {
			x[i] -= m[i][j] * x[j]
		}
		x[i] /= m[i][i]
	}
	return x
}

// take takes away what was explained.
func (f *fit) take(x [unknowns]float64) {
	for k := range unknowns {
		for j := range unknowns {
			f.errs[k] -= f.of[max(k, j)][min(k, j)] * x[j]
		}
	}
}

// shift counts from n bits later on, with so many spaces among them, and keeps a part.
func (f *fit) shift(n, spaces, part float64) {
	var m [unknowns][unknowns]float64
	for k := range unknowns {
		for j := range unknowns {
			m[k][j] = f.of[max(k, j)][min(k, j)]
		}
	}
	less := func(k, from int, by float64) {
		for j := range unknowns {
			m[k][j] -= by * m[from][j]
		}
		for j := range unknowns {
			m[j][k] -= by * m[j][from]
		}
		f.errs[k] -= by * f.errs[from]
	}
	less(ofDrift, ofPhase, n)
	less(ofLength, ofStart, n)
	less(ofSkew, ofPhase, spaces)
	for k := range unknowns {
		for j := range k + 1 {
			f.of[k][j] = part * m[k][j]
		}
		f.errs[k] *= part
	}
}
