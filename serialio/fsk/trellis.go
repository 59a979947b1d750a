package fsk

import "math"

// The phase of a sender, seen from the mark tone, stands still in a mark and turns by
// −60° in a space: h = 5/6. So it is at one of six places, and what was sent is the
// likeliest way through them.
const places = 6

const (
	ahead    = 14  // bits behind a character that are looked at before it is decided
	expected = 0.4 // advantage of a start bit and a stop bit where they ought to be, of an amplitude
	longest  = charBits + ahead
)

// A trellis decides a stretch of bits at once.
type trellis struct {
	score [longest + 1][places]float64 // of the likeliest way to each place, before each bit and behind the last
	top   float64                      // of the likeliest way of all
	bits  int                          // of the stretch
	z     [longest][2]complex128
	lead  [longest][places]float64 // by how much it is better that a mark led there than a space
}

var turns = [places][2]float64{{1, 0}, {.5, half3}, {-.5, half3}, {-1, 0}, {-.5, -half3}, {.5, -half3}}

const half3 = 0.8660254037844386

// along puts z as it is seen from each place into r.
func along(z complex128, r *[places]float64) {
	a, b := real(z)/2, imag(z)*half3
	r[0], r[1], r[2] = real(z), a-b, -a-b
	r[3], r[4], r[5] = -real(z), b-a, a+b
}

// run takes bits of a stretch, whose correlations with both tones are in z, with the
// amplitude and the phase of the sender taken out; space is how strong its space tone is
// then, and skew what its phase turns by in a space beside the 60°.
func (t *trellis) run(n int, space, skew float64) {
	skewed := math.Abs(skew) > 0.01
	back := [places]complex128{1, 1, 1, 1, 1, 1} // what takes the skew away, at each place
	once := polar(1, -skew)
	var mark, blank [places]float64
	for i := range n {
		along(t.z[i][1], &mark)
		along(t.z[i][0], &blank)
		if skewed {
			for p, w := range turns {
				w := complex(w[0], w[1]) * back[p]
				mark[p], blank[p] = real(t.z[i][1]*w), real(t.z[i][0]*w)
			}
		}
		less, more := -0.5, -space*space/2
		switch i {
		case 0:
			less -= expected
		case charBits - 1:
			more -= expected
		}
		score, next, lead := &t.score[i], &t.score[i+1], &t.lead[i]
		from := places - 1
		for p := range places {
			stay := score[p] + mark[p] + less
			turn := score[from] + space*blank[from] + more
			next[p], lead[p] = max(stay, turn), stay-turn
			from = p
		}
		if skewed {
			before := back
			for p := range places {
				if lead[p] < 0 {
					back[p] = before[(p+places-1)%places] * once
				}
			}
		}
	}
	t.bits = n
}

// best is the likeliest way: its bits, its place before the first, and by how much the
// nearest other way into the first character is worse.
func (t *trellis) best() (bits uint32, place int, margin float64) {
	p, end := 0, &t.score[t.bits]
	for k := range end {
		if end[k] > end[p] {
			p = k
		}
	}
	margin, t.top = 2, end[p]
	for i := t.bits - 1; i >= 0; i-- {
		margin = min(margin, math.Abs(t.lead[i][p]))
		if t.lead[i][p] >= 0 {
			bits |= 1 << i
		} else {
			p = (p + places - 1) % places
		}
	}
	return bits, p, margin
}

// from is how far a bit reaches that was sent from a place.
func (t *trellis) from(i int, bit uint32, place int) float64 {
	return real(t.z[i][bit])*turns[place][0] - imag(t.z[i][bit])*turns[place][1]
}

// tail is the mean size of the bits behind a character, 1 where they are as they should be.
func (t *trellis) tail(bits uint32, place int, space float64) (size float64) {
	for i := range t.bits {
		b := bits >> i & 1
		if i >= charBits {
			v := t.from(i, b, place)
			if b == 0 {
				v /= space
			}
			size += v / float64(t.bits-charBits)
		}
		if b == 0 {
			place = (place + 1) % places
		}
	}
	return size
}

// open is how wide the eye is where a character can be read bit by bit, without phases:
// the least difference between the tones, of an amplitude.
const open = 0.55

// plain reads a character bit by bit, if the eye is open.
func (t *trellis) plain() (bits uint32, wide bool) {
	for i := range charBits {
		mark, space := length(t.z[i][1]), length(t.z[i][0])
		switch {
		case mark > space+open:
			bits |= 1 << i
		case space < mark+open:
			return 0, false
		}
	}
	return bits, true
}

// length is quicker than cmplx.Abs, which takes care of numbers that are not met here.
func length(z complex128) float64 { return math.Sqrt(real(z)*real(z) + imag(z)*imag(z)) }

// likeliest is the place before a character that fits its bits best.
func (t *trellis) likeliest(bits uint32) (place int) {
	var sum, v [places]float64
	turned := 0
	for i := range charBits {
		b := bits >> i & 1
		along(t.z[i][b], &v)
		for p := range places {
			sum[p] += v[(p+turned)%places]
		}
		turned += int(1 - b)
	}
	for p := range sum {
		if sum[p] > sum[place] {
			place = p
		}
	}
	return place
}
