package stimulus

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"os"
	"slices"

	"looptone/serialio/fsk"
	"looptone/serialio/wave"
)

// calibration is long enough to read a meter.
var calibration = Calibration{
	File:    "00-calibration.wav",
	Does:    "1200 Hz without a break: set the generator so that the modem's input, connected, shows 500 mV peak to peak, which is 177 mV rms",
	LevelMV: usualMV,
	Seconds: 20,
}

// checkRoom refuses a full scale in which not all waveforms fit.
func (s *Set) checkRoom() error {
	w := slices.MaxFunc(s.Waveforms, func(a, b Waveform) int { return cmp.Compare(a.sound.peak, b.sound.peak) })
	if w.sound.peak <= 1 {
		return nil
	}
	return fmt.Errorf("a full scale of %s V does not hold %s at %d samples a second: want %.1f V or more",
		number(s.FullScale), w.Name, s.Rate, math.Ceil(w.sound.peak*s.FullScale*10)/10)
}

// render writes the samples of carriers that have gone through a channel.
func render(w *wave.Writer, rate int, seconds float64, sound *sound) error {
	mixer := fsk.NewMixer(float64(rate))
	for _, c := range sound.carriers {
		mixer.Send(c)
	}
	channel := sound.channel // so that it begins anew whenever it is rendered
	block := make([]float32, 4096)
	for left := int(math.Round(seconds * float64(rate))); left > 0; left -= len(block) {
		block = block[:min(len(block), left)]
		mixer.Read(block)
		channel.Pass(block)
		if err := w.Write(block); err != nil {
			return err
		}
	}
	return nil
}

// writeFile writes a new WAV file.
func (s *Set) writeFile(name string, seconds float64, sound *sound) (err error) {
	f, err := os.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o666)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	w, err := wave.NewWriter(f, s.Rate, wave.PCM16)
	if err != nil {
		return err
	}
	if err := render(w, s.Rate, seconds, sound); err != nil {
		return err
	}
	return w.Close()
}

// tone is the sound of the calibration.
func (s *Set) tone() *sound {
	c := &s.Calibration
	voice := fsk.Voice{Amplitude: s.samples(c.LevelMV)}
	return &sound{carriers: []*fsk.Carrier{{Lead: c.Seconds, Voice: voice}}, channel: fsk.Channel{Rate: float64(s.Rate)}}
}
