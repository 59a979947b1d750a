package sim

import "looptone/frame"

// sixDecibels is the ratio of amplitudes from which on the stronger of two
// carriers is heard alone.
//
// Source: common practice (capture of the stronger of two FSK carriers).
const sixDecibels = 1.9953

// superposition is several carriers at once, bit by bit: equal bits stay,
// unequal ones go to the talker that is 6 dB stronger than every other one, else
// by chance.
type superposition struct {
	talks []talk
	seed  uint64
}

// hear appends the characters that a receiver makes of it from moment from on,
// where the line is quiet or a character has just ended.
func (s superposition) hear(to []Char, from Tick) []Char {
	for {
		start, ok := s.startBit(from)
		if !ok {
			return to
		}
		c := s.character(start)
		to = append(to, c)
		from = c.End - Bit/2 // a stop bit is over, for a receiver, once it is sampled
		if c.Mark&frame.Framing != 0 {
			from = s.nextMark(from)
		}
	}
}

// startBit is the next edge from mark to space.
func (s superposition) startBit(from Tick) (Tick, bool) {
	for t := from; t != Never; t = s.edgeAfter(t) {
		if !s.valueAt(t) {
			return t, true
		}
	}
	return 0, false
}

// nextMark is the first moment from t on at which the line is at mark.
func (s superposition) nextMark(t Tick) Tick {
	for !s.valueAt(t) {
		t = s.edgeAfter(t)
	}
	return t
}

// character samples the bits of a character in their middle.
func (s superposition) character(start Tick) Char {
	c := Char{Start: start, End: start + Character}
	sample := func(bit Tick) bool { return s.valueAt(start + bit*Bit + Bit/2) }
	for i := range Tick(8) {
		if sample(i + 1) {
			c.Value |= 1 << i
		}
	}
	if sample(9) != oddParity(c.Value) {
		c.Mark |= frame.Parity
	}
	if !sample(10) {
		c.Mark |= frame.Framing
	}
	return c
}

func (s superposition) edgeAfter(t Tick) Tick {
	next := Never
	for _, talk := range s.talks {
		next = min(next, talk.burst.edgeAfter(t))
	}
	return next
}

// valueAt is the bit that is heard at t; a line without a carrier is at mark.
func (s superposition) valueAt(t Tick) bool {
	var loudest [2]float32 // of those who send 0, and 1
	for _, talk := range s.talks {
		b := talk.burst
		if t < b.At || t >= b.Off() {
			continue
		}
		v := 0
		if b.valueAt(t) {
			v = 1
		}
		loudest[v] = max(loudest[v], talk.level)
	}
	switch space, mark := loudest[0], loudest[1]; {
	case space == 0 || mark >= space*sixDecibels:
		return true
	case mark == 0 || space >= mark*sixDecibels:
		return false
	}
	return chance(s.seed, s.edgeBefore(t)) < 0.5
}

// edgeBefore is the last moment up to t at which some bit began.
func (s superposition) edgeBefore(t Tick) (last Tick) {
	for _, talk := range s.talks {
		if at, ok := talk.burst.edgeBefore(t); ok {
			last = max(last, at)
		}
	}
	return last
}

// chance is a number in [0, 1) that depends on the seed and the moment alone, so
// that the order of questions does not matter.
func chance(seed uint64, t Tick) float64 {
	x := seed ^ uint64(t)*0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return float64((x^x>>31)>>11) / (1 << 53)
}
