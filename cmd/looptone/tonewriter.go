package main

import (
	"io"
	"math"

	"looptone/serialio/fsk"
)

// A toneWriter writes carriers as a waveform, one after the other in time, with what
// happens to them on their way.
type toneWriter struct {
	tones    *tones
	out      *waveFile
	rate     float64
	mixer    *fsk.Mixer
	rendered int64   // samples
	off      float64 // when the last carrier went off, in seconds
	volts    []float32
}

// usualToneScale is the volts of full scale, unless it is said: twice what usual tones
// come to, and more.
const usualToneScale = 1

// silence is how long there is no carrier at the beginning and at the end, in seconds: a
// modem sees the carrier go on and off.
const silence = 0.1

func newToneWriter(flags *waveFlags, t *tones) (*toneWriter, error) {
	if t.voice.Amplitude > 0 {
		if err := flags.refuseCoarse(t.voice.Amplitude); err != nil {
			return nil, usageError{err}
		}
	}
	out, err := flags.create()
	if err != nil {
		return nil, err
	}
	rate := float64(flags.rate)
	return &toneWriter{tones: t, out: out, rate: rate, mixer: fsk.NewMixer(rate), volts: make([]float32, renderedAtOnce)}, nil
}

// carrier is one without characters, that goes on at a moment in seconds.
func (w *toneWriter) carrier(at float64) *fsk.Carrier {
	bit := (1 + w.tones.voice.ClockPPM*1e-6) / fsk.BitRate
	return &fsk.Carrier{At: at, Lead: w.tones.lead * bit, Tail: w.tones.tail * bit, Voice: w.tones.voice}
}

// send writes a carrier, and what is before it.
func (w *toneWriter) send(c *fsk.Carrier) error {
	w.mixer.Send(c)
	w.off = c.End()
	return w.render(w.off)
}

// render writes the samples before a moment.
func (w *toneWriter) render(until float64) error {
	for end := int64(math.Ceil(until * w.rate)); w.rendered < end; {
		volts := w.volts[:min(renderedAtOnce, end-w.rendered)]
		w.mixer.Read(volts)
		w.tones.channel.Pass(volts)
		if err := w.out.write(volts); err != nil {
			return err
		}
		w.rendered += int64(len(volts))
	}
	return nil
}

// close ends the waveform with silence.
func (w *toneWriter) close(stderr io.Writer) error {
	err := w.render(w.off + silence)
	if closed := w.out.close(stderr); err == nil {
		err = closed
	}
	return err
}
