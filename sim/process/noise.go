package process

import (
	"math/rand/v2"

	"looptone/sim"
)

// noise is white Gaussian noise that can be asked for any moment, in any order.
type noise struct {
	deviation float64
	seed      uint64
	pcg       rand.PCG
	normal    *rand.Rand // draws from pcg
}

func newNoise(deviation float64, seed uint64) *noise {
	n := &noise{deviation: deviation, seed: seed}
	n.normal = rand.New(&n.pcg)
	return n
}

// at seeds the generator with the moment, so that no draw depends on another.
func (n *noise) at(now sim.Tick) float64 {
	n.pcg.Seed(n.seed, uint64(now))
	return n.deviation * n.normal.NormFloat64()
}

// noisy is a course with noise on top.
type noisy struct {
	Course
	noise *noise
}

func (n *noisy) Step(now sim.Tick, dt, opening float64) float64 {
	return n.Course.Step(now, dt, opening) + n.noise.at(now)
}
