package fsk

import (
	"cmp"
	"math"
	"slices"
)

// A Mixer makes samples of carriers, of several at once too. A sample is the signal at
// its instant, the first one at time 0.
type Mixer struct {
	rate    float64
	at      int64    // the next sample
	waiting []*voice // have not gone on, in the order in which they do
	on      []*voice
}

// NewMixer begins at time 0, with so many samples a second.
func NewMixer(rate float64) *Mixer { return &Mixer{rate: rate} }

// Send has a carrier sent. It must not go on before the samples that were read so far;
// the mixer keeps c until they are behind its end.
func (m *Mixer) Send(c *Carrier) {
	v := newVoice(c, m.rate)
	i, _ := slices.BinarySearchFunc(m.waiting, v, func(a, b *voice) int {
		return cmp.Or(cmp.Compare(a.begin, b.begin), -1) // behind those at the same moment
	})
	m.waiting = slices.Insert(m.waiting, i, v)
}

// Read makes the next samples.
func (m *Mixer) Read(dst []float32) {
	clear(dst)
	end := m.at + int64(len(dst))
	m.goOn(end)
	m.on = slices.DeleteFunc(m.on, func(v *voice) bool { return !v.add(dst, m.at) })
	m.at = end
}

// goOn has the carriers go on that begin before a sample.
func (m *Mixer) goOn(end int64) {
	n := 0
	for n < len(m.waiting) && m.waiting[n].begin < end {
		n++
	}
	m.on = append(m.on, m.waiting[:n]...)
	m.waiting = slices.Delete(m.waiting, 0, n)
}

// voice is a carrier that is being sent. Moments are in samples from carrier on, which
// need not be at a sample itself.
type voice struct {
	stretches
	on    float64 // carrier on, in samples from the first one
	begin int64   // the first sample that it has
	rate  float64
	half  float64 // amplitude, from zero to the peak

	phase    float64 // where the stretch begins, in periods
	from, to float64 // where it begins and ends
	step     float64 // periods a sample
	cycles   float64 // of the stretch
	mark     bool
}

func newVoice(c *Carrier, rate float64) *voice {
	v := &voice{stretches: newStretches(c), on: c.At * rate, rate: rate, half: c.Voice.Amplitude / 2, mark: true}
	v.begin = firstFrom(v.on)
	v.phase = part(c.Voice.Phase / (2 * math.Pi))
	return v
}

// firstFrom is the first sample at a moment or behind it. What rounding leaves of a
// sample is none.
func firstFrom(moment float64) int64 {
	const none = 1e-6
	return int64(math.Ceil(moment - none))
}

// part is what is left of periods, without the whole ones.
func part(cycles float64) float64 { return cycles - math.Floor(cycles) }

// add adds the carrier to samples, of which the first has number at; false when it is
// off before they end.
func (v *voice) add(dst []float32, at int64) bool {
	next := max(at, v.begin)
	for end := at + int64(len(dst)); next < end; {
		until := min(firstFrom(v.on+v.to), end)
		if next < until {
			v.sound(dst[next-at:until-at], float64(next)-v.on-v.from)
			next = until
		}
		if next < end && !v.advance() {
			return false
		}
	}
	return true
}

// advance goes on to the next stretch.
func (v *voice) advance() bool {
	s, ok := v.stretches.next()
	if !ok {
		return false
	}
	v.phase += v.cycles
	if s.mark != v.mark {
		v.phase += v.c.Voice.Jump / (2 * math.Pi)
	}
	v.phase = part(v.phase)
	v.from, v.to, v.cycles, v.mark = v.to, s.end*v.rate, s.cycles, s.mark
	v.step = v.tones[index(s.mark)] / (v.bit * v.rate)
	return true
}

// sound adds samples of one tone, of which the first is so many samples behind the edge.
func (v *voice) sound(dst []float32, behind float64) {
	phase := v.phase + behind*v.step
	if v.c.Voice.Shape == Trapezoid {
		for i := range dst {
			dst[i] += float32(v.half * trapezoid(phase+float64(i)*v.step))
		}
		return
	}
	for len(dst) > 0 {
		n := min(len(dst), sineRun)
		addSine(dst[:n], v.half, phase, v.step)
		dst, phase = dst[n:], phase+float64(n)*v.step
	}
}

// sineRun is how many times a pointer is turned before its phase is reckoned anew, so that
// rounding does not add up.
const sineRun = 256

// addSine adds a sine to samples: a pointer that turns by a step from each to the next.
func addSine(dst []float32, amplitude, phase, step float64) {
	sin, cos := math.Sincos(2 * math.Pi * part(phase))
	stepSin, stepCos := math.Sincos(2 * math.Pi * step)
	y, x := amplitude*sin, amplitude*cos
	for i := range dst {
		dst[i] += float32(y)
		y, x = y*stepCos+x*stepSin, x*stepCos-y*stepSin
	}
}
