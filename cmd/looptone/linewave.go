package main

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"looptone/serialio/fsk"
	"looptone/sim"
	"looptone/sim/linefile"
)

// A lineWave renders a line in line time as the voltage across its resistor: the loop
// current of all devices together, and everybody's tones on top of it.
type lineWave struct {
	assembly *linefile.Assembly
	rate     int64
	out      *waveFile
	mixer    *fsk.Mixer
	analog   *analogOutput
	target   float64 // volts: what the current is on its way to
	rendered int64   // samples
	volts    []float32
}

// usualLineScale is the volts of full scale, unless it is said: 15 devices with a failure
// current of 22 mA make 82.5 V across 250 ohm.
const usualLineScale = 100

// checkWave refuses what cannot be rendered of a line, or not written.
func (o *simOptions) checkWave(d *linefile.Description) error {
	if d.Loop().ResistorOhm == 0 {
		return errors.New("the line file has resistor_ohm = 0, and --wav writes the voltage across the resistor: want for instance resistor_ohm = 250")
	}
	for _, other := range [...]struct{ what, file string }{{"the line file", o.file}, {"the --state", o.state.file}, {"the --log", o.log}} {
		if err := refuseSameFile("--wav", o.wav.file, other.what, other.file); err != nil {
			return err
		}
	}
	return cmp.Or(o.wav.refuseLong(o.fast.span), o.wav.refuseCoarse(sim.NominalLevel))
}

// newWave begins the waveform.
func (s *simulation) newWave() (*lineWave, error) {
	out, err := s.wav.create()
	if err != nil {
		return nil, err
	}
	return newLineWave(s.assembly, out), nil
}

// renderedAtOnce is how many samples are made at once.
const renderedAtOnce = 4096

// newLineWave is for a line that has not run yet.
func newLineWave(a *linefile.Assembly, out *waveFile) *lineWave {
	rate := out.flags.rate
	w := &lineWave{assembly: a, rate: int64(rate), out: out, mixer: fsk.NewMixer(float64(rate)),
		volts: make([]float32, renderedAtOnce)}
	w.target = w.resistorV()
	w.analog = newAnalogOutput(float64(rate), w.target)
	return w
}

// resistorV is what the current of now makes across the resistor.
func (w *lineWave) resistorV() float64 {
	return w.assembly.LoopMA() / 1000 * w.assembly.ResistorOhm()
}

// run runs the line from grid point to grid point, where currents move, up to a moment.
func (w *lineWave) run(to sim.Tick) error {
	line, grid := w.assembly.Line, w.assembly.Grid()
	for line.Now() < to {
		line.Run(min((line.Now()/grid+1)*grid, to))
		if err := w.render(line.Now()); err != nil {
			return err
		}
		w.target = w.resistorV()
	}
	return nil
}

// carrier has a carrier rendered that goes on now.
func (w *lineWave) carrier(talker *sim.Seat, b *sim.Burst) {
	if w == nil {
		return
	}
	c := carrierOf(b)
	c.Voice.Amplitude = w.assembly.ResistorV(talker, b)
	c.Voice.Phase = w.assembly.Line.Phase(talker, b)
	w.mixer.Send(c)
}

// carrierOf is a burst as it is sent, without amplitude and phase.
func carrierOf(b *sim.Burst) *fsk.Carrier {
	c := &fsk.Carrier{At: b.At.Seconds(), Lead: b.Lead.Seconds(), Tail: b.Tail.Seconds(),
		Chars: slices.Clone(b.Chars), Marks: slices.Clone(b.Marks), Voice: fsk.Voice{ClockPPM: float64(b.PPM)}}
	for _, p := range b.Pauses {
		c.Pauses = append(c.Pauses, fsk.Pause{Before: p.Before, For: p.For.Seconds()})
	}
	return c
}

// render writes the samples before a moment.
func (w *lineWave) render(until sim.Tick) error {
	end := int64(math.Ceil(until.Seconds() * float64(w.rate)))
	for w.rendered < end {
		volts := w.volts[:min(renderedAtOnce, end-w.rendered)]
		w.mixer.Read(volts)
		w.analog.add(volts, w.target)
		w.rendered += int64(len(volts))
		if err := w.out.write(volts); err != nil {
			return err
		}
	}
	return nil
}
