package measure

import "math"

// joined is how far from each other characters may begin and still stand on one grid of
// bits: that much beside a character, in bits.
const joined = 0.25

// A grid adds up where edges are and where they should be.
type grid struct {
	n                   float64
	k, t, kk, kt        float64
	firstBit, firstEdge float64 // taken away first, so that squares stay small
}

func (g *grid) add(k, t float64) {
	if g.n == 0 {
		g.firstBit, g.firstEdge = k, t
	}
	k, t = k-g.firstBit, t-g.firstEdge
	g.n++
	g.k += k
	g.t += t
	g.kk += k * k
	g.kt += k * t
}

// spread is the sum of squares of the bits' numbers, and product that of their products
// with the places, both around the means.
func (g *grid) spread() (squares, product float64) {
	if g.n == 0 {
		return 0, 0
	}
	return g.kk - g.k*g.k/g.n, g.kt - g.k*g.t/g.n
}

// at is where a bit should begin, with bits so long.
func (g *grid) at(k, bit float64) float64 {
	return g.firstEdge + g.t/g.n + (k-g.firstBit-g.k/g.n)*bit
}

// groups divides the characters into those that follow each other without a gap.
func (s *stretch) groups(yield func(first, behind int)) {
	first := 0
	for i := 1; i <= len(s.chars); i++ {
		if i < len(s.chars) && math.Abs(s.startOf(i)-s.startOf(i-1)-characterBits*s.bit()) < joined*s.bit() {
			continue
		}
		yield(first, i)
		first = i
	}
}

// startOf is where a character begins, as well as it is known.
func (s *stretch) startOf(char int) float64 {
	for i := s.edgeOf(char); i < len(s.edges) && s.edges[i].char == char; i++ {
		if s.edges[i].bit == 0 && s.edges[i].ok {
			return s.edges[i].at
		}
	}
	return s.chars[char].at
}

// edgeOf is the first edge of a character.
func (s *stretch) edgeOf(char int) int {
	lo, hi := 0, len(s.edges)
	for lo < hi {
		mid := (lo + hi) / 2
		if s.edges[mid].char < char {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo
}

// edgesOf are the edges of characters that were found, with the numbers of their bits.
func (s *stretch) edgesOf(first, behind int, yield func(e *edge, k float64)) {
	for i := s.edgeOf(first); i < len(s.edges) && s.edges[i].char < behind; i++ {
		e := &s.edges[i]
		if e.ok {
			yield(e, float64(characterBits*(e.char-first)+e.bit))
		}
	}
}

// A slope is the length of a bit by least squares, one that more can be added to.
type slope struct{ squares, product float64 }

func (l *slope) add(g *grid) {
	squares, product := g.spread()
	l.squares += squares
	l.product += product
}

// bitLength is the length of a bit: by the edges of each character alone, unless there is
// no telling from so few bits; characters may have pauses between them.
func (s *stretch) bitLength() (bit, weight float64) {
	var within, across slope
	s.groups(func(first, behind int) {
		var whole grid
		for c := first; c < behind; c++ {
			var one grid
			s.edgesOf(c, c+1, func(e *edge, k float64) {
				one.add(k, e.at)
				whole.add(k+float64(characterBits*(c-first)), e.at)
			})
			within.add(&one)
		}
		across.add(&whole)
	})
	const enough = 200 // squared bits: about four characters that are no preambles
	from := within
	if within.squares < enough {
		from = across
	}
	bit = from.product / from.squares
	if !(bit > s.bit()*0.9 && bit < s.bit()*1.1) { // of characters that are none
		return s.bit(), 0
	}
	return bit, from.squares
}
