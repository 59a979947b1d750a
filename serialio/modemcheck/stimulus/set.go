package stimulus

import (
	"hash/fnv"

	"looptone/serialio/fsk"
)

// Format is what a manifest says that it is.
const Format = "looptone stimulus 1"

// A Set is the waveforms of a folder, as its manifest has them.
type Set struct {
	Format      string      `json:"format"`
	Seed        uint64      `json:"seed"`
	Rate        int         `json:"rate"`
	FullScale   float64     `json:"full_scale_v"` // volts at the modem that a sample of full scale is
	Cautions    []string    `json:"cautions"`
	Calibration Calibration `json:"calibration"`
	Waveforms   []Waveform  `json:"waveforms"`
}

// Calibration is the tone that a generator is set by.
type Calibration struct {
	File    string  `json:"file"`
	Does    string  `json:"does"`
	LevelMV float64 `json:"level_mv"`
	Seconds float64 `json:"seconds"`
}

// A Waveform is one file of a set.
type Waveform struct {
	Name     string    `json:"name"`
	File     string    `json:"file"`
	Does     string    `json:"does"`
	LevelMV  float64   `json:"level_mv"` // of the tones, peak to peak
	Seconds  float64   `json:"seconds"`
	Must     string    `json:"must"`
	Source   string    `json:"source"`
	Limits   []string  `json:"limits"` // names; none: either is right
	Messages []Message `json:"messages"`
	Tones    []Tone    `json:"tones,omitempty"`

	sound sound
}

// A Message is one that a waveform holds.
type Message struct {
	At      float64 `json:"at"` // seconds to its first start bit
	LevelMV float64 `json:"level_mv"`
	Around  bool    `json:"around,omitempty"` // before or behind what is tested, at the usual level
	Bytes   Bytes   `json:"bytes"`            // preambles included
}

// A Tone is a carrier without characters.
type Tone struct {
	At  float64 `json:"at"` // seconds
	For float64 `json:"for"`
}

// The levels that generators are set by and that waveforms have where nothing else is
// tested, in millivolts peak to peak: 1 mA peak to peak in 500 ohm, or 2 in 250.
const usualMV = 500

// What a set is made for where nothing else is said. Line outputs of sound cards
// can do 2 V peak to peak.
//
// Source: common practice.
const (
	DefaultRate      = 48000
	DefaultFullScale = 1.0 // volts
)

// The rates that a set can have, in samples a second.
const (
	LeastRate = fsk.LeastRate
	MostRate  = 1_000_000
)

// Cautions for whoever connects a generator to a modem.
//
// Source: common practice.
var Cautions = []string{
	"Feed the modem on a bench, never a live loop without the site's permit: tones on a loop disturb whatever is controlled by it and whoever talks there.",
	"A sound card and a computer on the mains are earthed: connect them to a loop or a bench supply through an isolating transformer or capacitors made for it, or an earth loop or a short circuit comes about.",
	"Set the level by the calibration tone with the modem connected, and begin at the least volume: a headphone output can exceed what the input of a modem bears.",
	"Nothing of this in a hazardous area; follow the area classification, local codes and licensed practice.",
}

// New makes a set, of which nothing is written yet. The full scale is in volts; one
// that the waveforms do not fit in is an error.
func New(seed uint64, rate int, fullScale float64) (*Set, error) {
	s := &Set{Format: Format, Seed: seed, Rate: rate, FullScale: fullScale, Cautions: Cautions, Calibration: calibration}
	for i := range recipes {
		c := composer{recipe: recipes[i], set: s, number: i + 1}
		s.Waveforms = append(s.Waveforms, c.compose())
	}
	return s, s.checkRoom()
}

// Seconds is how long all waveforms take, the calibration left out.
func (s *Set) Seconds() (t float64) {
	for i := range s.Waveforms {
		t += s.Waveforms[i].Seconds
	}
	return t
}

// seedOf is the seed of what is random in a waveform, the same whatever others there are.
func (s *Set) seedOf(name string) uint64 {
	h := fnv.New64a()
	h.Write([]byte(name)) // cannot fail
	return s.Seed ^ h.Sum64()
}

// samples is a level in the unit of samples, which has ±1 as full scale.
func (s *Set) samples(mv float64) float64 { return mv / 1000 / s.FullScale }

// A sound is what a file is made of.
type sound struct {
	carriers []*fsk.Carrier
	channel  fsk.Channel
	peak     float64 // that its samples reach
}
