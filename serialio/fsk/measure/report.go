package measure

import (
	"math"

	"looptone/serialio/fsk"
)

// A Report is what a waveform came to. Amplitudes, levels and noise are in the unit of the
// samples; amplitudes are peak to peak, and of a tone's fundamental.
type Report struct {
	Options
	Rate    float64 // samples a second
	Samples int64

	Carriers   int
	Characters int64
	Doubtful   int64 // characters with a mark or with edges that belong to no bit: not measured
	Messages   Messages

	Mark, Space Tone
	Devices     Spread // amplitude of carriers on which only devices talked
	BitRate     Spread // bit/s

	Edges Edges
	Lead  Spread // bits from carrier on to the first start bit; less than half a bit reads as half a bit
	Tail  Spread // bits from the last stop bit to carrier off
	Rise  Spread // bits from a tenth to nine tenths of the amplitude; not of carriers on which noise hides a tenth
	Decay Spread

	EndsOff float64 // bits by which noise moves the beginnings and ends of carriers at the most, a standard deviation

	Under   Spread // what lies under the tones while a carrier is on
	Talking Noise  // beside the tones
	Silent  Noise  // between carriers

	Eye     Eye
	Glimpse Glimpse
}

// A Tone is one of the two.
type Tone struct {
	Nominal   float64 // Hz
	Hz        Spread  // Least and Most of carriers, SD of runs
	Amplitude Spread
}

// Edges are those of the bits, against a grid that is laid through the edges of characters
// that follow each other without a pause.
type Edges struct {
	Count      int64
	RMS        float64 // in bits
	Isochronal Spread  // from the earliest to the latest of a grid, in bits
	StartStop  float64 // the furthest from where its own start bit has it, in bits

	JumpRMS, LargestJump float64 // of the phase, in degrees
	Resolution           float64 // the least jump that the noise lets tell, in degrees
}

const degrees = 180 / math.Pi

func (m *meter) report() (*Report, error) {
	if m.chars == 0 {
		return nil, m.nothing()
	}
	r := &Report{
		Options: m.Options, Rate: m.raw, Samples: m.samples,
		Carriers: m.carriers, Characters: m.chars, Doubtful: m.doubtful,
		Messages: m.messages.Messages,
		Mark:     m.mark.tone(fsk.MarkHz), Space: m.space.tone(fsk.SpaceHz),
		Devices: m.devices.spread(), BitRate: m.bitRate.spread(),
		Edges: Edges{
			Count: m.edges, RMS: m.offEdge.value(), Isochronal: m.distortion.spread(), StartStop: m.startStop,
			JumpRMS: m.jump.value() * degrees, LargestJump: m.largestJump * degrees, Resolution: m.resolution.mean * degrees,
		},
		Lead: m.lead.spread(), Tail: m.tail.spread(), Rise: m.rise.spread(), Decay: m.decay.spread(),
		EndsOff: m.endsOff,
		Under:   m.level.spread(), Talking: m.talking.noise(), Silent: m.silent.noise(),
		Eye: m.eye, Glimpse: m.glimpse,
	}
	r.Eye.Open = m.opening.mark - m.opening.space
	return r, nil
}

func (m *meter) nothing() error {
	s := m.everything.spread()
	e := &Nothing{Seconds: float64(m.samples) / m.raw, Mean: s.Mean, RMS: s.SD, Hz: m.spectrum.dominant(), Carriers: m.carriers}
	if m.VoltsPerUnit > 0 {
		e.Mean, e.RMS, e.Unit = e.Mean*m.VoltsPerUnit, e.RMS*m.VoltsPerUnit, " V"
	}
	return e
}

// Volts is an amount of samples in volts, if it is known what they are of.
func (r *Report) Volts(samples float64) (v float64, ok bool) {
	return samples * r.VoltsPerUnit, r.VoltsPerUnit > 0
}

// Milliamperes is the current that makes an amount of samples, if that can be told.
func (r *Report) Milliamperes(samples float64) (mA float64, ok bool) {
	if r.VoltsPerUnit == 0 || r.Ohms == 0 {
		return 0, false
	}
	return samples * r.VoltsPerUnit / r.Ohms * 1000, true
}

// Seconds is how long the waveform is.
func (r *Report) Seconds() float64 { return float64(r.Samples) / r.Rate }
