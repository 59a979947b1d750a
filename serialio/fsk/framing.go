package fsk

import (
	"math"
	"math/bits"
)

const (
	charCells = charBits * bit
	sight     = 5 * charCells // cells that are looked at for where characters begin
	enough    = 3 * charCells // of them behind the first one
	edge      = 0.65          // of an amplitude: a carrier's tones are above that, noise is not
	unlikely  = 0.35          // what a stop bit costs that is none
	rare      = 0.25          // what a change between idle and characters costs, of an amplitude
	nobody    = -1
)

// A framing finds where characters begin, between which the carrier may rest at mark for
// any time. It weighs all ways to divide a stretch into characters and rest at once.
// Phases it does not know; that is why what it finds is only a first guess.
type framing struct {
	mark, space [sight]float64 // by how much there is more of a tone than of a carrier's edge
	louder      [sight]float64 // of the louder tone
	apart       [sight]float64 // by how much that is louder
	one         [sight]uint8   // which tone that is
	idle, ended [sight + charCells + 2]division
}

// A division is the best one up to some place.
type division struct {
	score float64
	first int  // character's start; nobody for none
	run   int  // characters that follow each other from there on
	shut  bool // there was rest behind them
}

func better(a, b division) division {
	if b.score > a.score {
		return b
	}
	return a
}

// find is where the first character begins in the cells from from up to to, if there is
// one, and how many follow each other from there on. When fresh, there may be no carrier yet.
func (g *framing) find(f *front, from, to int64, amplitude float64, fresh bool) (first int64, run int, found bool) {
	n := int(to - from)
	for i := range n {
		mark, space := f.cell(from + int64(i)).sizes()
		mark, space = min(mark/amplitude, 1.5)-edge, min(space/amplitude, 1.5)-edge
		g.mark[i], g.space[i] = mark, space
		g.louder[i], g.apart[i], g.one[i] = max(mark, space), math.Abs(mark-space), 0
		if mark > space {
			g.one[i] = 1
		}
	}
	none := division{score: math.Inf(-1), first: nobody}
	for i := range n + charCells + 2 {
		g.idle[i], g.ended[i] = none, none
	}
	g.idle[0].score = 0
	last := none
	for i := range n {
		over := g.ended[i].worse(rare)
		over.shut = true
		rest := better(g.idle[i], over)
		if fresh {
			rest = better(rest, division{first: nobody}) // the carrier begins here
		}
		g.idle[i+1] = rest.worse(-g.mark[i] / bit)
		begun := better(g.ended[i], rest.worse(rare))
		if begun.first == nobody {
			begun.first = i
		}
		score, whole := g.char(i, n)
		begun.score += score
		if !whole {
			last = better(last, begun)
			continue
		}
		if !begun.shut {
			begun.run++
		}
		for k := charCells - 1; k <= charCells+1; k++ { // clocks differ
			g.ended[i+k] = better(g.ended[i+k], begun)
		}
	}
	last = better(last, better(g.idle[n], g.ended[n]))
	return from + int64(last.first), last.run, last.first != nobody
}

func (d division) worse(by float64) division {
	d.score -= by
	return d
}

// char is how well a character fits that begins at i, or as much of it as there is
// before n.
func (g *framing) char(i, n int) (score float64, whole bool) {
	score = g.space[i]
	least, odd := math.Inf(1), uint8(0)
	for range charBits - 2 {
		i += bit
		if i >= n {
			return score, false
		}
		score += g.louder[i]
		least = min(least, g.apart[i])
		odd ^= g.one[i]
	}
	i += bit
	if i >= n {
		return score, false
	}
	score += max(g.mark[i], g.space[i]-unlikely)
	if odd == 0 { // the least certain bit is taken to be wrong
		score -= least * 0.6
	}
	return score, true
}

// charOf is what the bits of a character say, the start bit in bit 0.
func charOf(b uint32) (char byte, parity, framing bool) {
	return byte(b >> 1), bits.OnesCount32(b>>1&0x1ff)%2 == 0, b>>(charBits-1)&1 == 0
}
