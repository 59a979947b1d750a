package fsk

// A Channel is what happens to a signal on its way. The zero Channel changes nothing.
// Amplitudes are in the unit of the samples.
type Channel struct {
	Rate     float64 // samples a second
	RC       float64 // seconds: time constant of the cable, 0 for none
	HighPass float64 // Hz: corner of the coupling, 0 for none
	Noise    float64 // standard deviation of white noise, see [NoiseFor]
	Hum      float64 // amplitude of mains hum, peak to peak
	HumHz    float64 // 50 where it is 0
	Impulses float64 // a second, at random
	Impulse  float64 // their amplitude
	DC       float64 // that is added
	Sway     float64 // amplitude of a slow movement, peak to peak
	SwayHz   float64
	Seed     uint64
}

// NoiseFor is the standard deviation of white noise for an Eb/N0 in dB: of tones with
// an amplitude of so much peak to peak, at so many samples a second.
func NoiseFor(ebn0, amplitude, rate float64) float64 { return 0 }

// Pass changes the next samples.
func (c *Channel) Pass(samples []float32) {}
