package fsk_test

import (
	"math"
	"testing"
)

// Two receivers of text books, which are told where each bit is, and its phase: what they
// get wrong is what theory says. So the noise has the Eb/N0 that it is said to have, and
// the formulas are those of these tones.
func TestNoiseOfPlainReceivers(t *testing.T) {
	for _, rate := range []float64{9600, 48000} {
		const db = 9.5
		without, with, bits := 0, 0, 0
		for m := range 16 {
			r := seeded(uint64(m))
			k := &talk{lead: 1 + r.Float64(), chars: message(r, 400), amplitude: 0.2, phase: 6 * r.Float64()}
			samples, _ := render(rate, k.end(), k)
			addNoise(r, samples, deviation(db, k.amplitude, rate))
			ps, _ := k.pieces()
			phase := k.phase
			for _, p := range ps {
				if length := p.until - p.from; math.Abs(length*1200-1) < 1e-6 {
					bits++
					mark, space := overlap(samples, rate, p, 1200, phase), overlap(samples, rate, p, 2200, phase)
					if (math.Hypot(mark[0], mark[1]) > math.Hypot(space[0], space[1])) != p.bit {
						without++
					}
					if (mark[0] > space[0]) != p.bit {
						with++
					}
				}
				hz := 2200.0
				if p.bit {
					hz = 1200
				}
				phase += 2 * math.Pi * hz * (p.until - p.from)
			}
		}
		for i, got := range []int{without, with} {
			want := float64(bits) * receivers[i].bits(fromDB(db))
			t.Logf("%v S/s, %v dB, %s: %d of %d bits are wrong, theory %.1f", rate, db, receivers[i].name, got, bits, want)
			if math.Abs(float64(got)-want) > 4*math.Sqrt(want) {
				t.Errorf("%v S/s, %v dB, %s: got %d wrong bits of %d, want %.1f", rate, db, receivers[i].name, got, bits, want)
			}
		}
	}
}

// overlap is how much of a tone with the phase is in a bit, and of what is a quarter of a
// period before it.
func overlap(samples []float64, rate float64, p piece, hz, phase float64) (sum [2]float64) {
	for n := int(math.Ceil(p.from * rate)); n < len(samples) && float64(n) < p.until*rate; n++ {
		sin, cos := math.Sincos(phase + 2*math.Pi*hz*(float64(n)/rate-p.from))
		sum[0] += samples[n] * sin
		sum[1] += samples[n] * cos
	}
	return sum
}
