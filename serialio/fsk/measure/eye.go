package measure

import "math"

// An Eye is how often a receiver's sum came to what value, over two bits around the middle
// of each bit. The sum is the share of mark less that of space in one bit of samples,
// mark being +1 and space -1.
type Eye struct {
	Columns, Rows int     // over two bits, and from -Reach to Reach
	Reach         float64 // of the sum
	Count         []int64 // by row, the lowest one first, and column
	Bits          int64   // that it is of
	Open          float64 // the least sum in the middle of a mark, less the most in that of a space
}

// The size of an eye.
const (
	eyeColumns = 48
	eyeRows    = 40
	eyeReach   = 1.4
)

func newEye() Eye {
	return Eye{Columns: eyeColumns, Rows: eyeRows, Reach: eyeReach, Count: make([]int64, eyeColumns*eyeRows), Open: math.NaN()}
}

// An opening is how near to each other the sums of marks and spaces come.
type opening struct{ mark, space float64 }

// lookAt adds the bits of a stretch to the eye.
func (m *meter) lookAt(s *stretch) {
	r := newReceiver(s)
	bit, _ := s.bitLength()
	for i := range s.chars {
		c := &s.chars[i]
		start, line := s.startOf(i), c.line()
		if c.doubtful {
			continue
		}
		for k := range characterBits {
			middle := start + (float64(k)+0.5)*bit
			m.eyeBit(r, middle, bit, line>>k&1 == 1)
		}
	}
	m.keepGlimpse(s)
}

func (m *meter) eyeBit(r *receiver, middle, bit float64, mark bool) {
	at, ok := r.sum(middle, bit)
	if !ok {
		return
	}
	m.eye.Bits++
	if mark {
		m.opening.mark = min(m.opening.mark, at)
	} else {
		m.opening.space = max(m.opening.space, at)
	}
	for column := range eyeColumns {
		off := (float64(column)+0.5)/eyeColumns*2 - 1
		v, ok := r.sum(middle+off*bit, bit)
		row := int((v + eyeReach) / (2 * eyeReach) * eyeRows)
		if ok && row >= 0 && row < eyeRows {
			m.eye.Count[row*eyeColumns+column]++
		}
	}
}

// A receiver holds the sums of both tones from the beginning of a stretch on.
type receiver struct {
	sums [2][]complex128
	full [2]float64 // amplitudes, by which its sums are divided
}

func newReceiver(s *stretch) *receiver {
	r := new(receiver)
	for tone := range r.sums {
		r.full[tone] = s.amplitude(tone == 1).mean
		sums := make([]complex128, len(s.clean)+1)
		back := sinusoid{z: 1, w: -s.w[tone]}
		turning := back.rotor(0)
		for i, v := range s.clean {
			now := turning.next()
			sums[i+1] = sums[i] + complex(v*real(now), v*imag(now))
		}
		r.sums[tone] = sums
	}
	return r
}

// sum is the share of mark less that of space in the bit around a place.
func (r *receiver) sum(at, bit float64) (v float64, ok bool) {
	from, to := at-bit/2+0.5, at+bit/2+0.5
	if from < 0 || to >= float64(len(r.sums[0])-1) || r.full[0] == 0 || r.full[1] == 0 {
		return 0, false
	}
	var share [2]float64
	for tone := range share {
		z := between(r.sums[tone], to) - between(r.sums[tone], from)
		share[tone] = 2 * math.Sqrt(real(z)*real(z)+imag(z)*imag(z)) / (bit * r.full[tone])
	}
	return share[1] - share[0], true
}

// between is the sum at a place between two samples.
func between(sums []complex128, at float64) complex128 {
	i := int(at)
	share := at - float64(i)
	return sums[i]*complex(1-share, 0) + sums[i+1]*complex(share, 0)
}

// A Glimpse is a piece of the signal around the first start bit that was measured, less
// what lies under the tones.
type Glimpse struct {
	Bit     []float64 // where each sample is, in bits behind the edge of the start bit
	Sample  []float64
	Edges   []float64 // where the tone changes, in bits as well
	Seconds float64   // where that start bit is in the whole
}

// How much of it there is, in bits.
const (
	glimpseBefore = 2
	glimpseBehind = 11
)

func (m *meter) keepGlimpse(s *stretch) {
	if m.glimpse.Bit != nil {
		return
	}
	char := m.glimpseOf(s)
	start, bit := s.startOf(char), s.bit()
	g := &m.glimpse
	for n := max(int(start-glimpseBefore*bit), 0); n < len(s.clean) && float64(n) < start+glimpseBehind*bit; n++ {
		g.Bit = append(g.Bit, (float64(n)-start)/bit)
		g.Sample = append(g.Sample, s.clean[n])
	}
	for i := range s.edges {
		if at := (s.edges[i].at - start) / bit; at > -glimpseBefore && at < glimpseBehind {
			g.Edges = append(g.Edges, at)
		}
	}
	g.Seconds = m.seconds(s.base + start)
}

// glimpseOf is the first character with some edges in it, which preambles have not.
func (m *meter) glimpseOf(s *stretch) int {
	for i := range s.chars {
		n := 0
		s.edgesOf(i, i+1, func(*edge, float64) { n++ })
		if n >= 6 {
			return i
		}
	}
	return 0
}
