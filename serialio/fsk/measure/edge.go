package measure

import "math"

// reach is how far from its nominal place an edge is looked for, in bits.
const reach = 0.45

// findEdges finds where the tones on both sides of each edge meet, or, if jumps are looked
// for as well, where the samples change from one to the other.
func (s *stretch) findEdges(jumps bool) {
	s.blurred = tally{}
	for i := range s.edges {
		e := &s.edges[i]
		before, behind := &s.runs[i].tail, &s.runs[i+1].head
		e.ok = before.ok && behind.ok
		if !e.ok {
			continue
		}
		off := math.Remainder(before.phase(e.nominal)-behind.phase(e.nominal), 2*math.Pi)
		e.at = e.nominal + off/(behind.w-before.w)
		e.jump = 0
		if jumps {
			s.look(e, before, behind)
		}
	}
}

// How much better a jump must explain the samples than none: by so many variances of what
// is beside the tones, which is taken for no less than a share of their amplitude, and by
// so many times what even the best place for a change leaves around it. Filters blur
// edges, and what they leave looks like small jumps.
const (
	evidence  = 12
	leastLeft = 0.007
	blurs     = 4
)

// look sees whether the samples change from one tone to the other elsewhere than where
// these meet. That is a jump of the phase, and between which samples it is, is all that
// can be told of its place.
func (s *stretch) look(e *edge, before, behind *sinusoid) {
	bit := s.bit()
	first, last := int(math.Ceil(e.nominal-reach*bit)), int(e.nominal+reach*bit)
	if first < 0 || last >= len(s.clean) {
		return
	}
	var sum, meet, least float64 // of squares with the change later, less those with it at first
	change := first
	for n := first; n <= last; n++ {
		if sum < least {
			least, change = sum, n
		}
		a, b := s.away(n, before), s.away(n, behind)
		sum += a*a - b*b
		if float64(n) < e.at {
			meet = sum
		}
	}
	blur := s.blur(change, before, behind)
	s.blurred.add(blur, 1)
	if meet-least > evidence*s.variance()+blurs*blur {
		e.at = float64(change) - 0.5
		e.jump = math.Remainder(behind.phase(e.at)-before.phase(e.at), 2*math.Pi)
	}
}

// away is how far a sample is from a tone.
func (s *stretch) away(n int, tone *sinusoid) float64 { return s.clean[n] - tone.at(float64(n)) }

// blurSamples are looked at on both sides of a change.
const blurSamples = 3

// blur is what a change leaves around it beside noise.
func (s *stretch) blur(change int, before, behind *sinusoid) (squares float64) {
	for n := max(change-blurSamples, 0); n < min(change+blurSamples, len(s.clean)); n++ {
		tone := behind
		if n < change {
			tone = before
		}
		off := s.away(n, tone)
		squares += off*off - s.sigma*s.sigma
	}
	return max(squares, 0)
}

// variance is that of what is beside the tones.
func (s *stretch) variance() float64 {
	left := max(s.sigma, leastLeft*s.strength)
	return left * left
}

// resolution is the least jump that can be told, in radians: one that adds as much to the
// squares as look wants, but no less than half a sample makes.
func (s *stretch) resolution() float64 {
	if s.strength == 0 {
		return math.Pi
	}
	apart := s.w[0] - s.w[1]
	wanted := evidence*s.variance() + blurs*s.blurred.mean
	return min(max(math.Cbrt(6*apart*wanted/(s.strength*s.strength)), apart/2), math.Pi)
}
