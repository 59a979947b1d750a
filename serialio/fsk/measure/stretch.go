package measure

import (
	"math"
	"math/bits"

	"looptone/frame"
	"looptone/serialio/fsk"
)

// A character is one in a stretch. Places are in the samples of the stretch.
type character struct {
	at   float64 // of the start bit's edge
	bit  float64 // length of a bit
	char byte
	mark frame.Mark

	doubtful bool // its edges are not measured
}

// characterBits are start bit, eight data bits, parity and stop bit.
const characterBits = 11

// line is the tone of each bit, the first one lowest: 1 is a mark.
func (c *character) line() uint {
	parity := 1 &^ uint(bits.OnesCount8(c.char)) // odd
	if c.mark == frame.Parity {
		parity ^= 1
	}
	return uint(c.char)<<1 | parity<<9 | 1<<10
}

func (c *character) end() float64 { return c.at + characterBits*c.bit }

// A stretch is a carrier, or a part of a long one, with its samples.
type stretch struct {
	rate  float64
	base  float64 // place of the first sample
	x     []float64
	chars []character
	on    float64 // where the carrier was heard to go on; NaN where it does not in this stretch
	off   float64

	edges []edge
	runs  []run // one before each edge, and one behind the last
	w     [2]float64
	slope [2]tally // by how much frequencies are off, in radians a sample
	under []float64
	clean []float64 // x without what lies under the tones
	tones []float64
	known []bool  // whether the tone there is
	sigma float64 // of what is neither, away from the edges

	strength float64 // amplitude of the weaker tone
	blurred  tally   // what edges leave beside them

	began, ended ramp
}

// An edge is where a tone begins.
type edge struct {
	nominal float64 // by the demodulator
	at      float64
	char    int
	bit     int
	mark    bool    // that begins
	jump    float64 // radians
	ok      bool
}

// A run is a stretch of one tone. A long one has a sinusoid at either end, a short one
// the same one twice.
type run struct {
	mark       bool
	unknown    bool // what tones it has
	head, tail sinusoid
}

// Lengths in bits.
const (
	guard   = 0.15 // that is left out of a run at an edge
	longRun = 14   // is fitted at its ends only
	runEnd  = 12   // of a long run, that is fitted
	change  = 2    // of a pause, in which another may have begun to talk
)

// How often everything is fitted; and how often before jumps are looked for: what a first
// look leaves beside the tones would be taken for some.
const (
	passes     = 5
	surePasses = 3
)

func (s *stretch) bit() float64 { return s.chars[0].bit }

// solve finds the tones and the edges.
func (s *stretch) solve() {
	s.lay()
	n := len(s.x)
	s.under, s.clean, s.tones, s.known = make([]float64, n), make([]float64, n), make([]float64, n), make([]bool, n)
	s.w = [2]float64{2 * math.Pi * fsk.SpaceHz / s.rate, 2 * math.Pi * fsk.MarkHz / s.rate}
	work, rest := make([]float64, n), make([]float64, n)
	for pass := range passes {
		for i, v := range s.x {
			rest[i] = v - s.tones[i]
		}
		smooth(s.under, rest, work, s.bit())
		for i, v := range s.x {
			s.clean[i] = v - s.under[i]
		}
		s.fitRuns()
		s.strength = s.weakest()
		s.findEdges(pass >= surePasses)
		s.findEnds()
		s.synthesize()
	}
}

// lay makes edges and runs of the characters.
func (s *stretch) lay() {
	s.runs = append(s.runs[:0], run{mark: true})
	s.edges = s.edges[:0]
	for i := range s.chars {
		c := &s.chars[i]
		if c.mark != 0 { // its bits are in doubt
			s.edge(i, 0, c.at, false)
			s.runs[len(s.runs)-1].unknown = true
			s.edge(i, characterBits, c.end(), true)
			s.edges[len(s.edges)-1].ok = false
			continue
		}
		last, line := uint(1), c.line()
		for k := range characterBits {
			now := line >> k & 1
			if now != last {
				s.edge(i, k, c.at+float64(k)*c.bit, now == 1)
			}
			last = now
		}
	}
}

func (s *stretch) edge(char, bit int, at float64, mark bool) {
	s.edges = append(s.edges, edge{nominal: at, at: at, char: char, bit: bit, mark: mark})
	s.runs = append(s.runs, run{mark: mark})
}

// extent is from where to where a run goes.
func (s *stretch) extent(i int) (from, to float64) {
	switch {
	case i > 0:
		from = s.edges[i-1].at
	case !math.IsNaN(s.on):
		from = min(s.on, s.edges[0].at)
	}
	switch {
	case i < len(s.edges):
		to = s.edges[i].at
	case !math.IsNaN(s.off):
		to = s.off
	default:
		to = float64(len(s.x) - 1)
	}
	return from, max(from, to)
}

func index(mark bool) int {
	if mark {
		return 1
	}
	return 0
}

// fitRuns fits sinusoids, and sets the frequencies right by what they say. Runs of n bits
// tell a frequency n³ times as well.
func (s *stretch) fitRuns() {
	s.slope = [2]tally{}
	bit := s.bit()
	for i := range s.runs {
		r := &s.runs[i]
		r.head.ok, r.tail.ok = false, false
		if r.unknown {
			continue
		}
		from, to := s.extent(i)
		before, behind := guard*bit, guard*bit
		if i == 0 { // a carrier rises, and falls
			before = min(bit, max((to-from)/3, before))
		}
		if i == len(s.edges) {
			behind = min(bit, max((to-from)/3, behind))
		}
		headTo, tailFrom, whole := s.parts(i, from, to)
		s.fitRun(&r.tail, r.mark, max(tailFrom, from+before), to-behind)
		if r.head = r.tail; !whole {
			s.fitRun(&r.head, r.mark, from+before, headTo)
		}
	}
	for tone := range s.w {
		s.w[tone] += s.slope[tone].mean
	}
}

// pause is the end of the character before a pause that is in a run. Somebody else may talk
// behind it, in another phase.
func (s *stretch) pause(i int) (end float64, paused bool) {
	if i == 0 || i == len(s.edges) || s.edges[i].bit != 0 {
		return 0, false
	}
	next := &s.chars[s.edges[i].char]
	end = s.chars[s.edges[i-1].char].end()
	return end, next.at-end >= change*s.bit()
}

func (s *stretch) fitRun(to *sinusoid, mark bool, from, behind float64) {
	w := s.w[index(mark)]
	var slope float64
	*to, slope = fit(s.clean, from, behind, w)
	if to.ok && !math.IsNaN(slope) && math.Abs(slope) < w/10 {
		n := behind - from
		s.slope[index(mark)].add(slope, n*n*n*to.amplitude()*to.amplitude())
	}
}

// parts are up to where the head of a run is fitted, and from where its tail is. A short
// run is fitted as a whole.
func (s *stretch) parts(i int, from, to float64) (headTo, tailFrom float64, whole bool) {
	bit := s.bit()
	if end, paused := s.pause(i); paused {
		return end + bit, max(end+bit, to-3*bit), false
	}
	if to-from > longRun*bit {
		return from + runEnd*bit, to - runEnd*bit, false
	}
	return to, from, true
}

// synthesize makes the tones, and sees what is left beside them.
func (s *stretch) synthesize() {
	clear(s.tones)
	clear(s.known)
	var left rms
	for i := range s.runs {
		from, to := s.extent(i)
		s.sound(i, from, to)
		quarter := s.bit() / 4
		for n, behind := s.samples(from+quarter, to-quarter); n < behind; n++ {
			if s.known[n] {
				left.add(s.clean[n] - s.tones[n])
			}
		}
	}
	s.sigma = left.value()
}

// sound puts the tone of a run where it is. The middle of a long one is known only if it is
// one tone from the head to the tail.
func (s *stretch) sound(i int, from, to float64) {
	r := &s.runs[i]
	headTo, tailFrom, _ := s.parts(i, from, to)
	if middle := (headTo + tailFrom) / 2; headTo > tailFrom || r.isOne(middle) {
		headTo, tailFrom = middle, middle
	}
	s.fill(&r.head, from, headTo)
	s.fill(&r.tail, tailFrom, to)
}

// What two sinusoids may differ by in phase, in radians, and by what share in amplitude, and
// be of one tone.
const (
	samePhase     = 0.2
	sameAmplitude = 0.1
)

// isOne reports whether head and tail are of one tone: they meet at a place.
func (r *run) isOne(at float64) bool {
	a, b := r.head.amplitude(), r.tail.amplitude()
	return math.Abs(a-b) <= sameAmplitude*max(a, b) && math.Abs(math.Remainder(r.head.phase(at)-r.tail.phase(at), 2*math.Pi)) <= samePhase
}

// fill puts a tone into the samples.
func (s *stretch) fill(tone *sinusoid, from, to float64) {
	if !tone.ok {
		return
	}
	first, behind := s.samples(from, to)
	turning := tone.rotor(first)
	for n := first; n < behind; n++ {
		s.tones[n], s.known[n] = real(turning.next()), true
	}
}

// samples are those from one place to another, which is no part of it.
func (s *stretch) samples(from, to float64) (first, behind int) {
	return max(int(math.Ceil(from)), 0), min(int(math.Ceil(to)), len(s.x))
}
