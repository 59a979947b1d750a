package fsk

import (
	"math"

	"looptone/frame"
)

// By what a character is taken for one.
const (
	astray   = 0.75 // of the amplitude: bits behind a character that are where they should be are above that
	tight    = 1.2  // margin of a character that is looked at twice
	shifted  = 1.2  // radians times the root of their number, by which spaces are late behind a pause
	together = 0.95 // of the size of marks, and of spaces: they have one phase each
	doubtful = 0.8  // of the amplitude: a character that is in its place is above that
	weak     = 0.6  // of the amplitude: the mean over a character, with all phases
	audible  = 0.3  // of all that is heard: the tones have at least that much
	pure     = 0.7  // of all that is heard: tones that are believed without their phases
	united   = 0.7  // of a character's power in the right phase, before a carrier is believed
	evident  = 0.9  // as united, where one character is enough
	certain  = 0.3  // margin of the first character that is believed
	noise    = 0.62 // as united, in the mean: below that, a carrier is not believed any more
	tooMany  = 1.5  // characters of late with a wrong parity or stop bit
)

// run reads the next character of some that follow each other.
func (r *receiver) run(end int64) bool {
	r.watchOn(end)
	c := &r.clock
	switch {
	case r.off != 0 && c.at+(charBits-1)*c.bit > float64(r.off):
		return r.rest(c.at)
	case c.at+longest*c.bit+1 > float64(end) && (r.off == 0 || c.at+charBits*c.bit+1 > float64(end)):
		return false
	case r.wrong > tooMany && !r.mend(end):
		return false
	}
	v := r.read(end)
	if v.bits&1 == 1 || !r.align(&v, end) {
		return r.rest(c.at)
	}
	r.locked = false
	r.unity += (v.unity - r.unity) / 4
	switch {
	case !r.believes(&v):
		return r.rest(c.at + bit/2)
	case !v.wide && r.unity < noise: // it never was a carrier
		r.off = int64(c.at)
		return r.rest(c.at)
	}
	r.hand(&v)
	return true
}

// A verdict is what became of a character.
type verdict struct {
	bits            uint32
	margin          float64
	wide            bool // it can be read without phases
	char            byte
	parity, framing bool // are wrong
	impression
}

// read decides on the character at the clock, with its phases or, where it can be read
// without them, whatever they do.
func (r *receiver) read(end int64) (v verdict) {
	var place int
	v.bits, place, v.margin = r.decide(end)
	v.bits &= 1<<charBits - 1
	var plain uint32
	if plain, v.wide = r.trellis.plain(); v.wide && plain != v.bits {
		v.bits, place, v.margin = plain, r.trellis.likeliest(plain), open
		r.score = [places]float64{}
	}
	v.char, v.parity, v.framing = charOf(v.bits)
	if v.bits&1 == 0 {
		v.impression = r.clock.judge(&r.trellis, charBits, v.bits, place)
	}
	return v
}

// align moves the clock where a short rest stood before the character, and reports
// whether it did not last too long for that.
func (r *receiver) align(v *verdict, end int64) bool {
	c := &r.clock
	moved := math.Abs(v.late)*math.Sqrt(v.spaces*(charBits-v.spaces)/charBits) > shifted
	if !v.wide && (moved || v.strength < doubtful) && !r.locked && r.paused(end) {
		return false
	}
	if moved && (!v.wide || v.alike > together) {
		c.at -= v.late / turn
		c.fit.errs[ofStart], c.fit.errs[ofLength] = 0, 0
	}
	return true
}

// believes reports whether what was read is a character, and no noise.
func (r *receiver) believes(v *verdict) bool {
	share := r.clock.share(r.front, v.strength)
	right := !v.parity && !v.framing
	if v.wide && (r.sure || right && max(share, r.clock.share(r.front, 1)) > pure) {
		return true
	}
	if v.strength < weak || share < audible {
		return false
	}
	return r.sure || v.unity > united && right && v.margin > certain
}

// hand hands the character on and goes on to the next.
func (r *receiver) hand(v *verdict) {
	c := &r.clock
	h := Heard{At: max(c.at-0.5, float64(r.began)) / innerRate, Bit: c.bit / innerRate, Char: v.char, Quality: float32(within(v.margin/2, 1))}
	r.wrong *= 0.8
	if v.parity {
		h.Mark |= frame.Parity
	}
	if v.framing {
		h.Mark |= frame.Framing
	}
	if h.Mark != 0 {
		r.wrong++
	}
	switch {
	case r.sure:
		r.got(h)
	case r.waits:
		r.confirm()
		r.got(h)
	default: // a second one has to confirm it, or it is as clear as can be
		r.first, r.waits = h, true
		r.clearly = v.unity > evident && v.margin > 1 && c.share(r.front, v.strength) > pure
	}
	if v.unity > united {
		c.learn(v.spaces)
	} else { // there are no phases to learn from
		c.fit, c.levels = fit{}, [4]float64{}
		c.move(charBits, v.spaces)
	}
	r.decided = int64(c.at)
	r.strength = c.mark
}

// confirm hands on the first character of a carrier.
func (r *receiver) confirm() {
	r.sure, r.waits = true, false
	r.got(r.first)
}

// mend looks for another drift, once it hears far enough ahead for that.
func (r *receiver) mend(end int64) bool {
	c := &r.clock
	if c.at+(guessed*charBits+ahead)*c.bit > float64(end) && r.off == 0 {
		return false
	}
	r.wrong = 0
	last := c.at + guessed*charCells
	if to := min(end, int64(c.at)+sight); last < float64(to) && (r.off == 0 || last < float64(r.off)) {
		r.again(to - 3*bit)
	}
	return true
}

// decode decides on the character at the clock.
func (r *receiver) decode(end int64) (bits uint32, place int, margin float64) {
	c := &r.clock
	end = min(end, r.front.end()-1)
	n := min(longest, max(charBits, int((float64(end)-c.at)/c.bit)))
	c.see(r.front, &r.trellis, n)
	r.trellis.score[0] = r.score
	r.trellis.run(n, c.space, c.skew)
	r.score = r.trellis.score[charBits]
	return r.trellis.best()
}

// decide decides on the character at the clock. Where it is a close thing, all its bits
// and those behind it mend the clock for a second attempt, which counts if it fits better.
func (r *receiver) decide(end int64) (bits uint32, place int, margin float64) {
	before := r.score
	bits, place, margin = r.decode(end)
	stopped := bits>>(charBits-1)&1 == 1
	if stopped && r.trellis.bits > charBits && r.trellis.tail(bits, place, r.clock.space) < astray {
		stopped = false
	}
	if !stopped { // there may be rest behind it, of any length
		score := r.score
		r.score = before
		bits, place, margin = r.decode(0)
		r.score = score
		return bits, place, margin
	}
	if margin > tight {
		return bits, place, margin
	}
	c := &r.clock
	first, top, score := *c, r.trellis.top, r.score
	again := *c
	again.judge(&r.trellis, r.trellis.bits, bits, place)
	c.adopt(c.explained(&again.fit))
	r.score = before
	if b, p, m := r.decode(end); r.trellis.top > top {
		return b, p, m
	}
	*c, r.score = first, before
	r.decode(end)
	r.score = score
	return bits, place, margin
}

// paused reports whether there is rest before the character at the clock.
func (r *receiver) paused(end int64) bool {
	from := int64(r.clock.at) - 2
	first, _, found := r.framing.find(r.front, from, min(from+sight-charCells, end), r.strength, false)
	return found && first > from+5 && first < from+3*bit
}
