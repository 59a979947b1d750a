package fsk

import (
	"math"
	"math/rand/v2"
)

// A Channel is what happens to a signal on its way. The zero Channel changes nothing,
// but it must have a Rate. Amplitudes are in the unit of the samples.
//
// First comes what filters, cable and coupling, then what is added: so noise is white,
// and DC is there, where somebody listens.
type Channel struct {
	Rate     float64 // samples a second
	RC       float64 // seconds: time constant of the cable, 0 for none
	HighPass float64 // Hz: corner of the coupling, 0 for none
	Noise    float64 // standard deviation of white noise, see [NoiseFor]
	Hum      float64 // amplitude of mains hum, a sine, peak to peak
	HumHz    float64 // 50 where it is 0
	Impulses float64 // a second, at random
	Impulse  float64 // their amplitude, up or down, from which they fade with a time constant of 0.1 ms
	DC       float64 // that is added
	Sway     float64 // amplitude of a slow movement, a sine, peak to peak
	SwayHz   float64
	Seed     uint64

	begun    bool
	at       int64    // the next sample
	cable    *lowPass // nil for none
	coupling *lowPass
	noise    *rand.Rand
	impulses impulses
}

// usualHum is the frequency of mains hum where none is given, in Hz.
const usualHum = 50

// NoiseFor is the standard deviation of white noise for an Eb/N0 in dB: of tones with
// an amplitude of so much peak to peak, at so many samples a second. Eb is the energy of
// a bit on the line, so that all 11 bits of a character count; N0/2 is the variance over
// the rate.
func NoiseFor(ebn0, amplitude, rate float64) float64 {
	return math.Sqrt(power(amplitude) / BitRate / math.Pow(10, ebn0/10) / 2 * rate)
}

// NoiseForSNR is the same for a ratio of the powers of signal and noise in dB. The noise
// is all that there is up to half the rate.
func NoiseForSNR(snr, amplitude float64) float64 {
	return math.Sqrt(power(amplitude) / math.Pow(10, snr/10))
}

// power is that of a sine.
func power(peakToPeak float64) float64 { return peakToPeak * peakToPeak / 8 }

// Pass changes the next samples.
func (c *Channel) Pass(samples []float32) {
	if !c.begun {
		c.begin()
	}
	if c.cable != nil {
		for i, sample := range samples {
			samples[i] = float32(c.cable.next(float64(sample)))
		}
	}
	if c.coupling != nil { // a high-pass leaves what the low-pass of its corner takes
		for i, sample := range samples {
			samples[i] = float32(float64(sample) - c.coupling.next(float64(sample)))
		}
	}
	if c.Noise != 0 {
		for i := range samples {
			samples[i] += float32(c.Noise * c.noise.NormFloat64())
		}
	}
	c.impulses.add(samples)
	c.wave(samples, c.Hum, c.HumHz)
	c.wave(samples, c.Sway, c.SwayHz)
	if c.DC != 0 {
		for i := range samples {
			samples[i] += float32(c.DC)
		}
	}
	c.at += int64(len(samples))
}

func (c *Channel) begin() {
	c.begun = true
	if c.RC > 0 {
		c.cable = newLowPass(c.RC, c.Rate)
	}
	if c.HighPass > 0 {
		c.coupling = newLowPass(1/(2*math.Pi*c.HighPass), c.Rate)
	}
	if c.HumHz == 0 {
		c.HumHz = usualHum
	}
	c.noise = rand.New(rand.NewPCG(c.Seed, 1))
	c.impulses = newImpulses(c)
}

// wave adds a sine.
func (c *Channel) wave(samples []float32, peakToPeak, hz float64) {
	if peakToPeak == 0 {
		return
	}
	step := hz / c.Rate
	for from := 0; from < len(samples); from += sineRun {
		to := min(from+sineRun, len(samples))
		addSine(samples[from:to], peakToPeak/2, float64(c.at+int64(from))*step, step)
	}
}

// impulses come at random, as many a second on the average.
type impulses struct {
	mean   float64 // samples between two
	height float64
	random *rand.Rand
	wait   float64 // samples to the next one
	level  float64 // what is left of those so far
	keep   float64 // of it, a sample later
}

// fadeOfImpulse is the time constant of an impulse in seconds.
const fadeOfImpulse = 1e-4

func newImpulses(c *Channel) impulses {
	if c.Impulses == 0 || c.Impulse == 0 {
		return impulses{}
	}
	p := impulses{mean: c.Rate / c.Impulses, height: c.Impulse,
		random: rand.New(rand.NewPCG(c.Seed, 2)), keep: math.Exp(-1 / (fadeOfImpulse * c.Rate))}
	p.wait = p.mean * p.random.ExpFloat64()
	return p
}

func (p *impulses) add(samples []float32) {
	if p.random == nil {
		return
	}
	for i := range samples {
		for p.level *= p.keep; p.wait < 1; p.wait += p.mean * p.random.ExpFloat64() {
			if p.random.Uint64()&1 == 0 {
				p.level += p.height
			} else {
				p.level -= p.height
			}
		}
		p.wait--
		samples[i] += float32(p.level)
	}
}
