package measure

import (
	"math"
)

// weakest is the amplitude of the weaker tone.
func (s *stretch) weakest() float64 {
	least := math.Inf(1)
	for _, mark := range [...]bool{false, true} {
		a := s.amplitude(mark)
		if a.n > 0 {
			least = min(least, a.mean)
		}
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return least
}

// amplitude is that of a tone in all its runs; those in which the carrier rises and falls
// count only where there are no others.
func (s *stretch) amplitude(mark bool) (all tally) {
	var ends tally
	for i := range s.runs {
		r := &s.runs[i]
		if r.mark != mark || !r.tail.ok {
			continue
		}
		from, to := s.extent(i)
		of := &all
		if i == 0 || i == len(s.edges) {
			of = &ends
		}
		of.add(r.tail.amplitude(), min(to-from, runEnd*s.bit()))
	}
	if all.n == 0 {
		return ends
	}
	return all
}

// measured adds a stretch to what was measured so far.
func (m *meter) measured(s *stretch) {
	m.doubtful += s.setAside()
	m.tones(s)
	m.timing(s)
	for i := range s.under {
		if m.within(s, i) {
			m.level.add(s.under[i], 1)
		}
	}
	if s.began.ok {
		m.lead.add((s.startOf(0)-s.began.at)/s.bit(), 1)
		m.endsOff = max(m.endsOff, s.began.off)
		m.rise.add(s.began.took/s.bit(), 1)
	}
	if last := len(s.chars) - 1; s.ended.ok {
		end := s.startOf(last) + characterBits*s.bit()
		m.tail.add((s.ended.at-end)/s.bit(), 1)
		m.endsOff = max(m.endsOff, s.ended.off)
		m.decay.add(s.ended.took/s.bit(), 1)
	}
	m.beside(s)
	m.lookAt(s)
}

// What makes a character doubtful: an edge that is so far from where its start bit has it,
// in bits, that no receiver would read it right; or a run in which that much of the power
// is not of its tone, noise aside.
const (
	doubtfulEdge = 0.4
	doubtfulRun  = 0.15
)

// setAside takes characters for doubtful that were misheard, and those that came with a
// mark; their edges are not measured.
func (s *stretch) setAside() (n int64) {
	bit, _ := s.bitLength()
	full := [2]float64{s.amplitude(false).mean, s.amplitude(true).mean}
	for i := range s.chars {
		c, start := &s.chars[i], s.startOf(i)
		c.doubtful = c.mark != 0
		s.edgesOf(i, i+1, func(e *edge, k float64) {
			c.doubtful = c.doubtful || math.Abs((e.at-start)/bit-k) > doubtfulEdge
		})
		for k := s.edgeOf(i); k < len(s.edges) && s.edges[k].char == i; k++ {
			c.doubtful = c.doubtful || s.isForeign(k+1, c.end(), full[index(s.edges[k].mark)])
		}
		if c.doubtful {
			n++
		}
	}
	for k := range s.edges {
		e := &s.edges[k]
		e.ok = e.ok && !s.chars[e.char].doubtful && !(e.bit == 0 && e.char > 0 && s.chars[e.char-1].doubtful)
	}
	return n
}

// isForeign reports whether a run up to the end of a character is of another tone.
func (s *stretch) isForeign(i int, end, full float64) bool {
	from, to := s.extent(i)
	from, to = from+guard*s.bit(), min(to, end)-guard*s.bit()
	var left rms
	for n := max(int(math.Ceil(from)), 0); float64(n) < to && n < len(s.clean); n++ {
		left.add(s.clean[n] - s.tones[n])
	}
	noise := s.sigma * s.sigma
	return left.n > 0 && left.square/left.n > 2*noise+doubtfulRun*full*full/2
}

// within reports whether the carrier is on at a sample, and for a bit around it.
func (m *meter) within(s *stretch, i int) bool {
	from, to := s.chars[0].at-s.bit(), s.chars[len(s.chars)-1].end()
	return float64(i) >= from && float64(i) <= to
}

// tones adds frequencies and amplitudes. An amplitude is peak to peak, and what averaging
// samples has taken from it is put back.
func (m *meter) tones(s *stretch) {
	for i, t := range [...]*toneTally{&m.space, &m.mark} {
		mark := i == 1
		if s.slope[i].n > 0 {
			hz := s.w[i] * s.rate / (2 * math.Pi)
			t.hz.add(hz, s.slope[i].weight)
			t.hzSquare += s.slope[i].square * (s.rate / (2 * math.Pi)) * (s.rate / (2 * math.Pi))
		}
		if a := s.amplitude(mark); a.n > 0 {
			peaks := 2 * a.mean / m.thinner.passes(s.w[i])
			t.amplitude.add(peaks, a.weight)
			if m.messages.device && !m.messages.master {
				m.devices.add(peaks, a.weight)
			}
		}
	}
}

// timing adds the bit rate, and how far edges are from where they should be.
func (m *meter) timing(s *stretch) {
	bit, weight := s.bitLength()
	m.bitRate.add(s.rate/bit, weight)
	s.groups(func(first, behind int) {
		var g grid
		s.edgesOf(first, behind, func(e *edge, k float64) { g.add(k, e.at) })
		squares, product := g.spread()
		if squares == 0 || g.n < 4 {
			return
		}
		own := product / squares // whatever pauses there are between the characters
		early, late := 0.0, 0.0
		share := math.Sqrt(g.n / (g.n - 2)) // two were taken from the edges themselves
		s.edgesOf(first, behind, func(e *edge, k float64) {
			off := (e.at - g.at(k, own)) / own
			early, late = min(early, off), max(late, off)
			m.offEdge.add(off * share)
		})
		m.distortion.add(late-early, 1)
	})
	for i := range s.chars {
		start := s.startOf(i)
		s.edgesOf(i, i+1, func(e *edge, k float64) {
			m.startStop = max(m.startStop, math.Abs((e.at-start)/bit-k))
		})
	}
	m.jumps(s)
}

// jumps adds the jumps of the phase at the edges.
func (m *meter) jumps(s *stretch) {
	can := s.resolution()
	for i := range s.edges {
		e := &s.edges[i]
		if !e.ok {
			continue
		}
		m.edges++
		m.jump.add(e.jump)
		m.largestJump = max(m.largestJump, math.Abs(e.jump))
	}
	if len(s.edges) > 0 {
		m.resolution.add(can, float64(len(s.edges)))
	}
}

// A toneTally adds up what one tone is like.
type toneTally struct {
	hz, amplitude tally
	hzSquare      float64 // of single runs around the frequency of their carrier
}

func (t *toneTally) tone(nominal float64) Tone {
	r := Tone{Nominal: nominal, Hz: t.hz.spread(), Amplitude: t.amplitude.spread()}
	if t.hz.n > 0 {
		r.Hz.SD = math.Sqrt(max(t.hz.square+t.hzSquare, 0) / t.hz.weight)
	}
	return r
}
