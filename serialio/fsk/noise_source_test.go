package fsk_test

import (
	"math"
	"math/rand/v2"
)

// seeded is a source of chance that a test can repeat.
func seeded(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 8)) }

// message is what a station says: five preambles and so many characters by chance, one
// in four of them FF or 00, which a receiver can lose its place in.
func message(r *rand.Rand, n int) []byte {
	chars := []byte{0xff, 0xff, 0xff, 0xff, 0xff}
	for range n {
		c := byte(r.Uint32())
		switch r.IntN(8) {
		case 0:
			c = 0xff
		case 1:
			c = 0
		}
		chars = append(chars, c)
	}
	return chars
}

// deviation is the standard deviation of white noise for an Eb/N0 in dB, of tones with an
// amplitude peak to peak: Eb is the mean power over 1200 bit/s, N0/2 the variance over
// the rate.
func deviation(db, amplitude, rate float64) float64 {
	eb := amplitude * amplitude / 8 / 1200
	n0 := eb / math.Pow(10, db/10)
	return math.Sqrt(n0 / 2 * rate)
}

// addNoise adds white noise.
func addNoise(r *rand.Rand, samples []float64, deviation float64) {
	for i := range samples {
		samples[i] += deviation * r.NormFloat64()
	}
}

// A pole is a low-pass of the first order.
type pole struct{ k, y float64 }

func newPole(hz, rate float64) *pole { return &pole{k: 1 - math.Exp(-2*math.Pi*hz/rate)} }

func (p *pole) pass(x float64) float64 {
	p.y += p.k * (x - p.y)
	return p.y
}
