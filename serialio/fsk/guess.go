package fsk

import (
	"math"
	"math/bits"
	"math/cmplx"
)

// A guess is what a clock begins with: phase, drift and start from characters that
// follow each other, of which each bit was decided on its own, by the louder tone.
type guess struct {
	n      int
	seen   [guessed * charBits]complex128 // each bit's tone, as it would be without spaces
	spaces [guessed * charBits]bool
}

const (
	guessed    = 3    // characters at most
	driftStep  = 0.03 // radians a bit
	driftSteps = 5    // to either side: 1.2 % of the mark tone
	usual      = 0.6  // how much the strongest tone must give way to the nominal one, in parts of a bit, at the end
)

// guess sets the clock by some characters; its drift too where that is not known. They
// may be known to be FF.
func (c *clock) guess(f *front, t *trellis, chars int, search, preamble bool) {
	known, steps := c.drift, 0
	if search {
		steps = driftSteps
	}
	c.drift = 0
	var g guess
	place := 0
	for range chars {
		c.see(f, t, charBits)
		b := plainest(t)
		if preamble {
			b = ff
		}
		place = g.char(t, b, place)
		c.move(charBits, 0)
	}
	c.move(-float64(g.n), 0)
	best, right := math.Inf(-1), *c
	for k := -steps; k <= steps; k++ {
		for _, coupled := range [...]float64{0, 1} { // tones that are off may come from a clock that is
			drift := known + float64(k)*driftStep
			length := c.bit - coupled*float64(k)*driftStep/(2*math.Pi)*bit
			sum, late := g.turnedBack(drift, turn*(length-c.bit))
			v := cmplx.Abs(sum) + cmplx.Abs(late) - usual*math.Abs(float64(k))/driftSteps*float64(g.n)/charBits
			if v > best {
				best = v
				right = *c
				right.drift, right.phase, right.bit = drift, angle(sum), length
				if sum != 0 && late != 0 {
					right.at -= within(angle(late*cmplx.Conj(sum))/turn, 4)
				}
			}
		}
	}
	*c = right
}

// ff are the bits of the character FF.
const ff = 1<<charBits - 2

// plainest are the bits of a character by the louder tones, with the least certain one
// turned where parity is wrong.
func plainest(t *trellis) uint32 {
	var b uint32 = 1 << (charBits - 1)
	least, doubtful := math.Inf(1), 0
	for i := 1; i < charBits-1; i++ {
		soft := cmplx.Abs(t.z[i][1]) - cmplx.Abs(t.z[i][0])
		if soft > 0 {
			b |= 1 << i
		}
		if v := math.Abs(soft); v < least {
			least, doubtful = v, i
		}
	}
	if bits.OnesCount32(b)%2 == 1 && least < open { // with the stop bit
		b ^= 1 << doubtful
	}
	return b
}

// char takes a character's bits.
func (g *guess) char(t *trellis, b uint32, place int) int {
	for i := range charBits {
		one := b >> i & 1
		g.seen[g.n] = t.z[i][one] * complex(turns[place][0], turns[place][1])
		g.spaces[g.n] = one == 0
		g.n++
		if one == 0 {
			place = (place + 1) % places
		}
	}
	return place
}

// turnedBack is the sum of the marks, and that of the spaces, without a drift, and
// without what bits of another length add in spaces.
func (g *guess) turnedBack(drift, longer float64) (marks, spaces complex128) {
	back, further := complex(1, 0), complex(1, 0)
	step, more := polar(1, -drift), polar(1, longer)
	for i, u := range g.seen[:g.n] {
		if g.spaces[i] {
			spaces += u * back * further
		} else {
			marks += u * back
		}
		back *= step
		further *= more
	}
	return marks, spaces
}
