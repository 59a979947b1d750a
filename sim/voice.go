package sim

import (
	"hash/fnv"
	"math"
	"math/cmplx"
)

// The tones of a 0 and of a 1, in radians a tick.
//
// Source: Texas Instruments application note SLAAEH0 (Nov 2023), 1.5.2.
var tones = [2]float64{2 * math.Pi * 2200 / float64(Second), 2 * math.Pi * 1200 / float64(Second)}

// A voice is the tones of one carrier: their phase goes on from bit to bit.
type voice struct {
	burst  *Burst
	level  float64
	clock  float64 // how much longer than right its bits are, and its periods
	phase  float64 // radians, of its cosine at the edge of the first start bit
	before []uint8 // zeros in front of each character, but for sixes of them
}

// A 0 is 11/6 periods of its tone, a 1 one period of its own: so the phase at the edge
// of a bit is one of six, by how many zeros were in front of it.
const (
	periodsOfZero = 11.0 / 6
	phases        = 6
)

// Phase is the phase, in radians, with which the sine of a burst's tones begins when its
// carrier goes on: by chance, from the seed, the moment and the name of the talker, or its number
// on the line where it has none.
func (l *Line) Phase(talker *Seat, b *Burst) float64 { return beginning(l.seed, talker, b) }

func beginning(seed uint64, talker *Seat, b *Burst) float64 {
	who := talker.number
	if talker.Name != "" {
		name := fnv.New64a()
		name.Write([]byte(talker.Name))
		who = name.Sum64()
	}
	return 2 * math.Pi * chance(seed^who*0xd1342543de82ef95, b.At)
}

func voiceOf(t talk, seed uint64) voice {
	b := t.burst
	v := voice{burst: b, level: float64(t.level), clock: 1 + float64(b.PPM)/1e6, before: make([]uint8, len(b.Chars)+1)}
	v.phase = beginning(seed, t.seat, b) - math.Pi/2 + tones[1]/v.clock*float64(b.Lead)
	zeros := uint8(0)
	for i := range b.Chars {
		v.before[i] = zeros
		for bit := range 11 {
			zeros += 1 - one(b.bit(i*11+bit))
		}
		zeros %= phases
	}
	v.before[len(b.Chars)] = zeros
	return v
}

func one(bit bool) uint8 {
	if bit {
		return 1
	}
	return 0
}

// at is the tone at a moment between carrier on and off, in radians a tick, and its phase.
func (v *voice) at(t Tick) (tone, phase float64) {
	i, pass, ok := v.burst.bitAt(t)
	zeros := v.before[i/11]
	for before := i / 11 * 11; before < i; before++ {
		zeros += 1 - one(v.burst.bit(before))
	}
	tone = tones[one(!ok || v.burst.bit(i))] / v.clock
	phase = v.phase + 2*math.Pi*periodsOfZero*float64(zeros) + tones[1]/v.clock*float64(pass)
	return tone, phase + tone*float64(t-v.burst.edge(i)-pass)
}

// addTo adds what two correlators make of the voice, one for each tone, from one moment
// to another; they have phase 0 in the middle.
func (v *voice) addTo(sums *[2]complex128, from, to Tick) {
	middle := (from + to) / 2
	from, to = max(from, v.burst.At), min(to, v.burst.Off())
	for from < to {
		until := min(to, v.burst.edgeAfter(from))
		tone, phase := v.at(from)
		begin, end := turned(phase), turned(phase+tone*float64(until-from))
		for i, reference := range tones {
			before, behind := turned(-reference*float64(from-middle)), turned(-reference*float64(until-middle))
			sums[i] += complex(v.level, 0) * (integral(begin*before, end*behind, tone-reference, until-from) +
				integral(cmplx.Conj(begin)*before, cmplx.Conj(end)*behind, -tone-reference, until-from))
		}
		from = until
	}
}

// turned is 1 at a phase.
func turned(phase float64) complex128 {
	sin, cos := math.Sincos(phase)
	return complex(cos, sin)
}

// integral is that of something that turns from begin to end within a time, so many
// radians a tick.
func integral(begin, end complex128, turns float64, long Tick) complex128 {
	if turns == 0 {
		return begin * complex(float64(long), 0)
	}
	d := end - begin
	return complex(imag(d)/turns, -real(d)/turns)
}
