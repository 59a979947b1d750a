package fsk

import "math"

// lock begins with characters that follow each other.
func (r *receiver) lock(first, to int64, chars int) bool {
	r.running, r.locked, r.wrong = true, true, 0
	r.lately, r.before = 1, 1
	r.measure(first)
	c := &r.clock
	several := chars
	if r.sure {
		chars = 1
		*c = clock{at: float64(first), bit: c.bit, drift: c.drift, skew: c.skew, mark: r.strength, space: c.space}
	} else {
		*c = clock{at: float64(first), bit: bit, mark: r.strength, space: 1}
	}
	begun := *c
	c.guess(r.front, &r.trellis, chars, !r.sure, false)
	best, doubt := r.try(to, chars)
	if r.sure && several > 1 && (doubt || best < familiar || math.Abs(c.drift-begun.drift) > 0.01) { // it may be somebody else, who has taken over
		known := *c
		asBefore, _ := r.try(to, several)
		begun, chars = clock{at: float64(first), bit: bit, mark: r.strength, space: 1}, several
		*c = begun
		c.guess(r.front, &r.trellis, chars, true, false)
		if best, doubt = r.try(to, chars); best < asBefore+0.1 {
			best = asBefore
			*c = known
		}
	}
	if doubt {
		best = r.search(begun, best, to, chars)
	}
	if best < hopeless*float64(chars) {
		*c = begun
		r.score = [places]float64{}
		r.decode(int64(to) + 2*bit)
		if _, wide := r.trellis.plain(); !wide {
			return r.rest(float64(first + bit/2))
		}
		r.score = [places]float64{}
		return true
	}
	r.recall()
	r.score = [places]float64{}
	return true
}

// drifts are tried where there is doubt. One of 60° a character, or in two, looks right
// when one bit is taken for the other.
var drifts = [...]float64{-0.08, -0.04, 0, 0.04, 0.08}

// familiar is how good the first character is at least of somebody whose clock is known.
const familiar = 1.4

// hopeless is how good what a clock begins with is at least, a character.
const hopeless = 0.6

// search tries other drifts than the one that the clock has learnt, for something better.
func (r *receiver) search(begun clock, best float64, to int64, chars int) float64 {
	c := &r.clock
	kept := *c
	for i := range len(drifts) + 1 {
		*c = begun
		if i < len(drifts) {
			c.drift += drifts[i]
			c.guess(r.front, &r.trellis, chars, false, false)
		} else {
			c.guess(r.front, &r.trellis, chars, true, true)
		}
		if v, _ := r.try(to, chars); v > best {
			best, kept = v, *c
		}
	}
	*c = kept
	return best
}

// again looks for another drift where character after character is wrong.
func (r *receiver) again(to int64) {
	c, score := &r.clock, r.score
	was := *c
	begun := clock{at: c.at, bit: bit, mark: c.mark, space: c.space}
	best, _ := r.try(to, guessed)
	if r.search(begun, best, to, guessed) > best+0.15 {
		r.score = [places]float64{}
		c.fit, c.levels = fit{}, [4]float64{}
		return
	}
	*c, r.score = was, score
}

// try has the clock learn from the first characters twice. It is the better the greater
// the number is; there is doubt when a character is wrong.
func (r *receiver) try(to int64, chars int) (best float64, doubt bool) {
	c := &r.clock
	for range 2 {
		r.score = [places]float64{}
		c.fit, c.levels = fit{}, [4]float64{}
		best, doubt = 0, false
		n, spaces := 0.0, 0.0
		for range chars {
			b, place, margin := r.decode(int64(to) + 2*bit)
			if b&1 == 1 {
				break
			}
			m := c.judge(&r.trellis, charBits, b, place)
			best += m.strength*c.mark/r.strength + 0.3*margin
			_, wide := r.trellis.plain()
			if _, parity, framing := charOf(b); !wide && (parity || framing || m.strength < 0.8 || margin < 0.4) {
				best -= 0.5
				doubt = true
			}
			c.move(charBits, m.spaces)
			n += charBits
			spaces += m.spaces
			c.fit.shift(charBits, m.spaces, 1)
		}
		if n == 0 {
			return math.Inf(-1), true
		}
		c.mend()
		c.move(-n, -spaces)
	}
	unusual := c.drift / drifts[0]
	return best - 0.4*unusual*unusual, doubt
}

// recall takes back an FF before the first character, whose start bit, on its own, was
// taken for a mark: behind it, the phase is another one than before.
func (r *receiver) recall() {
	const lead = 4
	c := &r.clock
	r.score = [places]float64{}
	_, place, _ := r.decode(int64(c.at) + longest*bit)
	known := 0.5 * bit // of the rest before
	if r.sure {
		known = -bit // there is a stop bit
	}
	for c.at-charBits*bit > float64(r.decided)+known {
		if r.level(int64(c.at)-charBits*bit, charBits-1) < border*c.mark {
			return
		}
		n := min(lead, int((c.at-float64(r.decided)-min(known, 0))/bit)-charBits)
		was := *c
		c.move(-float64(charBits+n), 0)
		c.see(r.front, &r.trellis, n+1)
		earlier := (place + places - 1) % places
		t := &r.trellis
		sum := c.space*t.from(n, 0, earlier) - c.space*c.space/2 - t.from(n, 1, place) + 0.5
		for i := range n {
			sum += t.from(i, 1, earlier) - t.from(i, 1, place)
		}
		if sum < 0 {
			*c = was
			return
		}
		c.move(float64(n), 0)
		place = earlier
	}
}
