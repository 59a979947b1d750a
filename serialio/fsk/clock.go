package fsk

import (
	"math"
	"math/cmplx"
)

// turn is by how much more the space tone turns than the mark tone, a sample.
const turn = 2 * math.Pi * (SpaceHz - MarkHz) / innerRate

// modulation is by how many turns the space tone is before the mark tone, a bit.
const modulation = (SpaceHz - MarkHz) / BitRate

// A clock follows a sender: when its bits begin, its phase and its amplitude. All that
// it learns comes from phases: a space that comes late by a sample is behind by 37.5°.
type clock struct {
	at     float64 // cell of the next bit
	bit    float64 // samples
	phase  float64 // seen from the mark tone, of place 0
	drift  float64 // of the phase, a bit
	skew   float64 // of it beside that, a space
	mark   float64 // amplitude
	space  float64 // the same of the space tone, as a part of mark
	fit    fit
	levels [4]float64 // sums of amplitudes and counts, of both tones
}

// mend has the clock explain the errors.
func (c *clock) mend() {
	c.adopt(c.explained(&c.fit))
	c.weigh()
}

func (c *clock) explained(f *fit) [unknowns]float64 {
	apart := turn*(c.bit-bit) + modulation*c.drift
	return f.solve(apart, c.skew-apart, c.skew)
}

// adopt takes over what explains errors.
func (c *clock) adopt(x [unknowns]float64) {
	c.fit.take(x)
	c.phase += x[ofPhase]
	c.drift = within(c.drift+x[ofDrift], 0.25)
	c.at -= x[ofStart] / turn
	c.bit = bit + within(c.bit-x[ofLength]/turn-bit, 0.02*bit)
	c.skew = within(c.skew+x[ofSkew], 0.25)
}

// weigh takes the amplitudes of both tones from what was seen.
func (c *clock) weigh() {
	if l := &c.levels; l[1] > 0 {
		c.mark = max(l[0]/l[1], 1e-3*c.mark)
		c.space = min(max((l[2]+holdSpace)/(l[3]+holdSpace), 0.4), 2)
	}
}

// learn mends the clock, and goes on by a character with so many spaces.
func (c *clock) learn(spaces float64) {
	c.mend()
	for i, part := range [...]float64{memoryLevel, memoryLevel, memory, memory} {
		c.levels[i] *= part
	}
	c.move(charBits, spaces)
	c.fit.shift(charBits, spaces, memory)
}

// move goes on by bits, so many of them spaces, or back.
func (c *clock) move(bits, spaces float64) {
	c.at += bits * c.bit
	c.phase = math.Remainder(c.phase+bits*c.drift+spaces*c.skew, 2*math.Pi)
}

func within(v, most float64) float64 { return min(max(v, -most), most) }

// see puts the correlations of bits into t, with phase and amplitude taken out.
func (c *clock) see(f *front, t *trellis, n int) {
	scale := 1 / (bit / 2 * c.mark)
	turned := (c.at - 0.5) * (turn / (2 * math.Pi))
	mark, space := polar(scale, -c.phase), polar(scale, -c.phase+2*math.Pi*(turned-math.Floor(turned)))
	nextMark, nextSpace := polar(1, -c.drift), polar(1, -c.drift+turn*c.bit)
	at := c.at
	for i := range n {
		whole := int64(at)
		part := float32(at - float64(whole))
		a, b := f.cell(whole), f.cell(whole+1)
		t.z[i][1] = mark * complex(between(a.mark[0], b.mark[0], part), between(a.mark[1], b.mark[1], part))
		t.z[i][0] = space * complex(between(a.space[0], b.space[0], part), between(a.space[1], b.space[1], part))
		mark *= nextMark
		space *= nextSpace
		at += c.bit
	}
}

func between(a, b, part float32) float64 { return float64(a + (b-a)*part) }

func polar(r, angle float64) complex128 {
	sin, cos := math.Sincos(angle)
	return complex(r*cos, r*sin)
}

// An impression is how well bits look.
type impression struct {
	strength float64 // 1 where they are as they should be
	unity    float64 // what part of their power has the right phase and size
	late     float64 // phase of the spaces, seen from the marks
	alike    float64 // what part of the marks has one phase, and of the spaces
	spaces   float64
}

// judge takes into the sums what n bits show.
func (c *clock) judge(t *trellis, n int, bits uint32, place int) (m impression) {
	var power, sizes float64
	var marks, spaces complex128
	back, once := complex(1, 0), polar(1, -c.skew) // what takes the skew away
	for i := range n {
		u := t.z[i][bits>>i&1] * complex(turns[place][0], turns[place][1]) * back
		level, full := real(u), 1.0
		if bits>>i&1 == 1 {
			c.levels[0] += level * c.mark
			c.levels[1]++
			c.fit.add(float64(i), m.spaces, within(imag(u)/max(level, 0.6), 1), false)
			marks += u
		} else {
			full = c.space
			c.levels[2] += level
			c.levels[3]++
			c.fit.add(float64(i), m.spaces, within(imag(u)/max(level, 0.6*full), 1), true)
			spaces += u
			m.spaces++
			place = (place + 1) % places
			back *= once
		}
		size := length(u)
		sizes += size
		m.strength += level / full
		power += size / full * size / full
	}
	m.strength /= float64(n)
	power /= float64(n)
	m.alike = (cmplx.Abs(marks) + cmplx.Abs(spaces)) / max(sizes, 1e-30)
	m.unity, m.late = m.strength*m.strength/max(power, 1e-30), angle(spaces*cmplx.Conj(marks))
	return m
}

// share is how much of all that is heard is in the tones of a character.
func (c *clock) share(f *front, strength float64) float64 {
	var energy float64
	for i := range charBits {
		energy += float64(f.cell(int64(c.at + float64(i)*c.bit + 0.5)).energy)
	}
	tone := strength * c.mark * (1 + c.space) / 2
	return charBits * bit / 2 * tone * tone / energy
}

func angle(z complex128) float64 { return math.Atan2(imag(z), real(z)) }
