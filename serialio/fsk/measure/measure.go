package measure

import (
	"errors"
	"fmt"
	"io"
	"math"

	"looptone/serialio/fsk"
)

// Samples is where samples come from, as [wave.Reader] has them.
type Samples interface {
	Rate() float64
	Read(dst []float32) (n int, err error)
}

// Options say what samples are of. What is 0 is not known.
type Options struct {
	VoltsPerUnit float64 // of a sample of 1
	Ohms         float64 // that the loop current makes this voltage across
}

func (o Options) check() error {
	for _, v := range [...]struct {
		name string
		got  float64
	}{{"volts per unit", o.VoltsPerUnit}, {"resistance in ohm", o.Ohms}} {
		if !(v.got >= 0) || math.IsInf(v.got, 1) {
			return fmt.Errorf("%s: got %v, want more than 0", v.name, v.got)
		}
	}
	if o.Ohms > 0 && o.VoltsPerUnit == 0 {
		return errors.New("a current is reckoned from volts: the volts per unit are not known")
	}
	return nil
}

// Nothing says that there is no character in a waveform, and what there is.
type Nothing struct {
	Seconds  float64
	Mean     float64 // in the unit of the samples, or in volts
	RMS      float64 // around the mean
	Hz       float64 // that there is most of; 0 where that cannot be told
	Unit     string  // " V", or nothing
	Carriers int     // that were heard
}

func (e *Nothing) Error() string {
	const nothing = "no character in the waveform: "
	switch {
	case e.Seconds == 0:
		return nothing + "it has no samples"
	case e.RMS == 0:
		return fmt.Sprintf("%sin %.3g s it is at %.3g%s and does not move", nothing, e.Seconds, e.Mean, e.Unit)
	}
	mean := e.Mean
	if math.Abs(mean) < e.RMS/1e6 {
		mean = 0 // but for rounding
	}
	says := fmt.Sprintf("%sin %.3g s its mean is %.3g%s and its level around that %.3g%s rms", nothing, e.Seconds, mean, e.Unit, e.RMS, e.Unit)
	if e.Hz > 0 {
		says += fmt.Sprintf(", most of it at %.0f Hz", e.Hz)
	}
	if e.Carriers > 0 {
		says += "; there is a carrier, but nothing is said"
	}
	return says
}

// Measure reads samples to their end and measures what is in them. Where no character is
// found, the error is [Nothing].
func Measure(samples Samples, o Options) (*Report, error) {
	if rate := samples.Rate(); !(rate >= fsk.LeastRate) {
		return nil, fmt.Errorf("%.5g samples a second are too few for tones of %.0f Hz: want %.0f or more", rate, fsk.SpaceHz, fsk.LeastRate)
	}
	return measure(samples, fsk.NewDemodulator(samples.Rate()), o)
}

// An ear says where characters are; [fsk.Demodulator] does.
type ear interface {
	Feed(samples []float32)
	End()
	Next(h *fsk.Heard) bool
}

func measure(samples Samples, by ear, o Options) (*Report, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	m := newMeter(samples.Rate(), by, o)
	block := make([]float32, 4096)
	for {
		n, err := samples.Read(block)
		m.take(block[:n])
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
	}
	m.end()
	return m.report()
}
