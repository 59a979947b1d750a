package sim

import "looptone/frame"

// superposition is several carriers at once, as a plain receiver hears them: it compares
// the energy of the two tones over the time of a bit, without a memory of the phase, and
// behind it is a UART that goes by the edge of each start bit. Carriers add up by their
// levels and phases. Who is 6 dB stronger than the others is read, but for the character
// amid which he comes on; at 3 dB one character in ten is lost, as the others move the
// edges of its start bits too far; at 1 dB two of three are, and between equals hardly any
// is left.
//
// Source: common practice (a receiver of FSK without a memory of the phase). That such a
// receiver of the rendered tones errs as often, and also one that goes by the phase
// within a factor of two, is what TestNoiseCollisions of cmd/looptone finds, from 0 to
// 12 dB.
type superposition struct{ voices []voice }

func newSuperposition(talks []talk, seed uint64) *superposition {
	s := &superposition{}
	for _, t := range talks {
		s.voices = append(s.voices, voiceOf(t, seed))
	}
	return s
}

// hear appends the characters that a receiver makes of it from moment from on,
// where the line is quiet or a character has just ended.
func (s *superposition) hear(to []Char, from Tick) []Char {
	for {
		start, ok := s.startBit(from)
		if !ok {
			return to
		}
		c := s.character(start)
		from = c.End - Bit/2 // a stop bit is over, for a receiver, once it is sampled
		if c.Mark&frame.Framing != 0 {
			from = s.nextMark(from)
		}
		c.Start = s.sent(start)
		c.End = c.Start + Character
		to = append(to, c)
	}
}

// sent is the beginning of a 0 that is taken for a start bit at a moment, which others
// may have moved by up to half a bit: how far depends on the receiver, and who hears
// whom must not.
func (s *superposition) sent(moved Tick) Tick {
	nearest, off := moved, Bit/2
	for i := range s.voices {
		b := s.voices[i].burst
		for t := b.edgeAfter(moved - Bit/2 - 1); t <= moved+Bit/2; t = b.edgeAfter(t) {
			if d := max(t-moved, moved-t); d <= off && t < b.Off() && !b.valueAt(t) && (t == b.At || b.valueAt(t-1)) {
				nearest, off = t, d
			}
		}
	}
	return nearest
}

// startBit is the next edge from mark to space that is still space half a bit later.
func (s *superposition) startBit(from Tick) (Tick, bool) {
	for {
		start, ok := s.next(from, false)
		if !ok || !s.valueAt(start+Bit/2) {
			return start, ok
		}
		from = start + Bit/2
	}
}

// nextMark is the first moment from t on at which the line is at mark.
func (s *superposition) nextMark(t Tick) Tick {
	t, _ = s.next(t, true)
	return t
}

// glance is how often it is looked where something may change.
const glance = Bit / 8

// next is the first moment from a moment on at which a bit is heard; ok is false where
// it never is again.
func (s *superposition) next(from Tick, bit bool) (t Tick, ok bool) {
	for t = from; s.valueAt(t) != bit; {
		edge := s.edgeAfter(t - Bit/2)
		if edge == Never {
			return 0, false
		}
		t = max(t+glance, edge-Bit/2) // up to there all talkers stay as they are
	}
	return s.change(max(from, t-glance), t), true
}

// exact is how exactly it is found when something changes.
const exact = Bit / 64

// change is the moment from which on it is at to, if it is another one at from.
func (s *superposition) change(from, to Tick) Tick {
	bit := s.valueAt(to)
	if s.valueAt(from) == bit {
		return from
	}
	for to-from > exact {
		if middle := (from + to) / 2; s.valueAt(middle) == bit {
			to = middle
		} else {
			from = middle
		}
	}
	return to
}

// character samples the bits of a character in their middle.
func (s *superposition) character(start Tick) Char {
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

// edgeAfter is the next moment behind t at which somebody may change his bit.
func (s *superposition) edgeAfter(t Tick) Tick {
	next := Never
	for i := range s.voices {
		next = min(next, s.voices[i].burst.edgeAfter(t))
	}
	return next
}

// valueAt is the bit that is heard at t: the stronger tone of the time of a bit around
// it. Of a carrier that is alone there it is what it sends; a line without one is at
// mark.
func (s *superposition) valueAt(t Tick) bool {
	from, to := t-Bit/2, t+Bit/2
	var sums [2]complex128
	var alone *voice
	on := 0
	for i := range s.voices {
		if v := &s.voices[i]; v.burst.At < to && from < v.burst.Off() {
			on, alone = on+1, v
		}
	}
	switch on {
	case 0:
		return true
	case 1:
		return t < alone.burst.At || t >= alone.burst.Off() || alone.burst.valueAt(t)
	}
	for i := range s.voices {
		s.voices[i].addTo(&sums, from, to)
	}
	return energy(sums[1]) >= energy(sums[0])
}

func energy(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }

// chance is a number in [0, 1) that depends on the seed and the moment alone, so
// that the order of questions does not matter.
func chance(seed uint64, t Tick) float64 {
	x := seed ^ uint64(t)*0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return float64((x^x>>31)>>11) / (1 << 53)
}
