package main

import (
	"errors"
	"fmt"
	"math"

	"github.com/spf13/cobra"

	"looptone/frame/userfile"
	"looptone/serialio/fsk"
	"looptone/sim"
)

// tonesFlag says how somebody sends, and what happens to it on the way.
type tonesFlag struct {
	text string
	seed seedFlag
	gaps bool // that it knows the keys of a gap
}

func (f *tonesFlag) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.text, "tones", "", "how the tones of --wav are, and what happens to them on their way, `\"KEY=VALUE, ...\"`, for instance \"clock_ppm=5000, ebn0_db=12\"")
	f.seed.add(cmd)
}

// tonesHelp explains the keys of --tones.
const tonesHelp = `--tones "KEY=VALUE, ..." says how they are sent and what becomes of them:
  amplitude_v   peak to peak, before the cable (default 0.5)
  lead_bits     carrier before the first character (5), and
  tail_bits     behind the last one (3), in bit times
  shape         sine, or trapezoid: straight edges, as modem chips make them
  clock_ppm     error of the clock: 1000 makes bits 0.1 % longer and tones lower
  mark_ppm, space_ppm   error of a tone beside that: 1000 makes it 0.1 % higher
  jitter_bits   standard deviation of the edges of bits
  phase_deg     where the first tone begins; jump_deg: by how much the phase jumps
                at every change of tone
  rc_us         time constant of the cable; high_pass_hz: corner of the coupling
  ebn0_db       white noise, as energy of a bit over noise density; or snr_db, as
                power of the tones over all noise up to half the rate
  hum_v, hum_hz          mains hum, peak to peak (50 Hz)
  impulses_per_s, impulse_v   at random, up or down, fading with 0.1 ms
  dc_v, sway_v, sway_hz  what is added: DC, and a slow sine, peak to peak
All noise is added behind cable and coupling, and is the same again for one --seed.`

// waveCaution is said wherever a waveform may be played onto a wire.
const waveCaution = `Before a sound card or a generator plays it onto a loop: a card that is earthed through
the mains closes an earth loop, so use an isolating transformer and a capacitor; keep
out of hazardous areas; tones may disturb a process, and devices may carry out what is
asked. Follow local codes and licensed practice.`

// tones are how somebody sends, and what happens to it on the way.
type tones struct {
	lead, tail float64   // in bits
	gap        fsk.Pause // none where it lasts 0
	voice      fsk.Voice
	channel    fsk.Channel
}

// check refuses the flags where no waveform is written.
func (f *tonesFlag) check(cmd *cobra.Command, wav bool) error {
	for _, flag := range [...]string{"tones", "seed"} {
		if !wav && cmd.Flags().Changed(flag) {
			return fmt.Errorf("--%s goes with --wav FILE", flag)
		}
	}
	return checkNotEmpty(cmd, "tones")
}

// read reads the flags; rate is that of the samples.
func (f *tonesFlag) read(rate int) (*tones, error) {
	t := &tones{lead: bitsOf(sim.CarrierLead), tail: bitsOf(sim.CarrierTail)}
	t.voice.Amplitude = sim.NominalLevel
	t.channel.Rate = float64(rate)
	if f.seed.value != nil {
		t.voice.Seed, t.channel.Seed = *f.seed.value, *f.seed.value
	}
	if f.text == "" {
		return t, nil
	}
	keys, err := userfile.ParsePairs("--tones", f.text, "clock_ppm=1000")
	if err != nil {
		return nil, err
	}
	t.readVoice(keys)
	t.readChannel(keys)
	t.readNoise(keys)
	if f.gaps {
		t.readGap(keys)
	}
	return t, keys.End()
}

func bitsOf(t sim.Tick) float64 { return float64(t) / float64(sim.Bit) }

func (t *tones) readVoice(keys *userfile.Table) {
	const mostPPM = 100_000
	v := &t.voice
	t.lead = keys.Within("lead_bits", 0, 100_000, t.lead)
	t.tail = keys.Within("tail_bits", 0, 100_000, t.tail)
	v.Amplitude = keys.Within("amplitude_v", 0, 1000, v.Amplitude)
	v.ClockPPM = keys.Within("clock_ppm", -mostPPM, mostPPM, 0)
	v.MarkPPM = keys.Within("mark_ppm", -mostPPM, mostPPM, 0)
	v.SpacePPM = keys.Within("space_ppm", -mostPPM, mostPPM, 0)
	v.Jitter = keys.Within("jitter_bits", 0, 0.5, 0)
	v.Phase = radians(keys.Within("phase_deg", -360, 360, 0))
	v.Jump = radians(keys.Within("jump_deg", -360, 360, 0))
	if shape, _ := keys.Choice("shape", "sine", "trapezoid"); shape == "trapezoid" {
		v.Shape = fsk.Trapezoid
	}
}

// readGap reads where the carrier stays at mark for a while.
func (t *tones) readGap(keys *userfile.Table) {
	t.gap.For = keys.Within("gap_ms", 0, 60_000, 0) / 1000
	t.gap.Before = int(keys.Whole("gap_before", 1, 1000, 1))
	if keys.Has("gap_before") {
		keys.NeedBeside("gap_before", "gap_ms")
	}
	if keys.Has("gap_ms") {
		keys.NeedBeside("gap_ms", "gap_before")
	}
}

func radians(degrees float64) float64 { return degrees * math.Pi / 180 }

func (t *tones) readChannel(keys *userfile.Table) {
	c := &t.channel
	half := c.Rate / 2
	c.RC = keys.Within("rc_us", 0, 1e6, 0) * 1e-6
	c.HighPass = keys.Within("high_pass_hz", 0, half, 0)
	c.Hum = keys.Within("hum_v", 0, 1000, 0)
	c.HumHz = keys.AboveZero("hum_hz", half, 50)
	c.Impulses = keys.Within("impulses_per_s", 0, half, 0)
	c.Impulse = keys.Within("impulse_v", 0, 1000, 0)
	c.DC = keys.Within("dc_v", -1000, 1000, 0)
	c.Sway = keys.Within("sway_v", 0, 1000, 0)
	c.SwayHz = keys.AboveZero("sway_hz", half, 1)
	for _, pair := range [...][2]string{{"hum_hz", "hum_v"}, {"sway_hz", "sway_v"}, {"impulse_v", "impulses_per_s"}, {"impulses_per_s", "impulse_v"}} {
		if keys.Has(pair[0]) {
			keys.NeedBeside(pair[0], pair[1])
		}
	}
}

func (t *tones) readNoise(keys *userfile.Table) {
	ebn0 := keys.Within("ebn0_db", -30, 100, 0)
	snr := keys.Within("snr_db", -30, 100, 0)
	switch amplitude := t.voice.Amplitude; {
	case keys.Has("ebn0_db") && keys.Has("snr_db"):
		keys.Refuse("snr_db", errors.New("snr_db and ebn0_db both say how much noise there is: want one of them"))
	case keys.Has("ebn0_db"):
		t.channel.Noise = fsk.NoiseFor(ebn0, amplitude, t.channel.Rate)
	case keys.Has("snr_db"):
		t.channel.Noise = fsk.NoiseForSNR(snr, amplitude)
	}
}
