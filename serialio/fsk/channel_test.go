package fsk_test

import (
	"math"
	"math/cmplx"
	"testing"

	"looptone/serialio/fsk"
)

// passed is what a channel makes of a sine with an amplitude of 1 peak to peak, relative
// to it, when it has settled.
func passed(c fsk.Channel, hz float64) complex128 {
	part := int(c.Rate) / 5 // whole periods
	m := fsk.NewMixer(c.Rate)
	m.Send(&fsk.Carrier{Lead: 1, Voice: fsk.Voice{Amplitude: 1, MarkPPM: (hz/1200 - 1) * 1e6}})
	in := read(m, 2*part, 2*part)
	out := append([]float32(nil), in...)
	for i := 0; i < len(out); i += 999 {
		c.Pass(out[i:min(i+999, len(out))])
	}
	return toneAt(out[part:], hz, c.Rate) / toneAt(in[part:], hz, c.Rate)
}

// Cable and coupling have the gain and the phase of 1/(1+jωRC) and jωRC/(1+jωRC). How near
// they can come depends on the rate.
func TestFiltersAreAnalog(t *testing.T) {
	for _, c := range []struct{ rate, atTones, inBand float64 }{
		{8000, 0.015, 0.1}, {9600, 0.005, 0.04}, {11025, 0.005, 0.02}, {19200, 0.001, 0.002}, {44100, 0.001, 0.002},
		{48000, 0.001, 0.001}, {96000, 0.001, 0.001}, {192000, 0.001, 0.001},
	} {
		for _, hz := range []float64{400, 1200, 1700, 2200, 2800} {
			within := c.inBand
			if hz == 1200 || hz == 2200 {
				within = c.atTones
			}
			for _, rc := range []float64{10e-6, 65e-6, 500e-6} {
				s := complex(0, 2*math.Pi*hz*rc)
				expectGain(t, fsk.Channel{Rate: c.rate, RC: rc}, hz, 1/(1+s), within)
			}
			for _, corner := range []float64{5, 100, 400} {
				s := complex(0, hz/corner)
				expectGain(t, fsk.Channel{Rate: c.rate, HighPass: corner}, hz, s/(1+s), within)
			}
		}
	}
}

func expectGain(t *testing.T, c fsk.Channel, hz float64, want complex128, within float64) {
	t.Helper()
	if got := passed(c, hz); cmplx.Abs(got/want-1) > within {
		t.Errorf("%v S/s, RC %v s, corner %v Hz, at %v Hz: gain %.4f and phase %.4f, want %.4f and %.4f",
			c.Rate, c.RC, c.HighPass, hz, cmplx.Abs(got), cmplx.Phase(got), cmplx.Abs(want), cmplx.Phase(want))
	}
}

// Noise density as defined: an amplitude of 0.1 from zero to the peak, 48 kHz and 6 dB
// give 0.158 (computed by hand from N0/2 = s²/R and Eb = power/1200).
func TestNoiseFor(t *testing.T) {
	if got := fsk.NoiseFor(6, 0.2, 48000); math.Abs(got-0.158) > 0.001 {
		t.Errorf("got %.4f, want 0.158", got)
	}
	// Tones of 1 peak to peak have a power of 1/8.
	if got := fsk.NoiseForSNR(10, 1); math.Abs(got*got-0.0125) > 1e-9 {
		t.Errorf("got a power of %v, want 0.0125", got*got)
	}
}

// rendered is what a channel adds to nothing, in a time in seconds.
func rendered(c fsk.Channel, seconds float64) []float32 {
	out := make([]float32, int(c.Rate*seconds))
	for i := 0; i < len(out); i += 777 {
		c.Pass(out[i:min(i+777, len(out))])
	}
	return out
}

// moments are mean and variance of samples, and how much one has of the one before.
func moments(samples []float32) (mean, variance, next float64) {
	n := float64(len(samples))
	for _, v := range samples {
		mean += float64(v) / n
	}
	before := 0.0
	for _, v := range samples {
		x := float64(v) - mean
		variance += x * x / n
		next += x * before / n
		before = x
	}
	return mean, variance, next / variance
}

// White noise has its variance and is white; all limits are five standard deviations.
func TestNoiseIsWhite(t *testing.T) {
	c := fsk.Channel{Rate: 48000, Noise: 0.2, DC: 0.7, Seed: 5}
	samples := rendered(c, 5)
	n := float64(len(samples))
	mean, variance, next := moments(samples)
	if math.Abs(mean-0.7) > 5*0.2/math.Sqrt(n) || math.Abs(variance/0.04-1) > 5*math.Sqrt(2/n) || math.Abs(next) > 5/math.Sqrt(n) {
		t.Errorf("mean %.5f, variance %.6f, correlation with the next %.5f: want 0.7, 0.04 and 0", mean, variance, next)
	}
	again := rendered(c, 5)
	c.Seed++
	other := rendered(c, 5)
	if again[4711] != samples[4711] || other[4711] == samples[4711] {
		t.Error("one seed, and another one, want the same noise, and other noise")
	}
}

func TestHumAndSway(t *testing.T) {
	for _, c := range []fsk.Channel{
		{Rate: 44100, Hum: 0.3, Sway: 4, SwayHz: 3, DC: 1},
		{Rate: 8000, Hum: 0.3, HumHz: 60, Sway: 4, SwayHz: 0.5, DC: -1},
	} {
		samples := rendered(c, 2)
		hz := max(50, c.HumHz)
		for at, want := range map[float64]float64{hz: 0.3, c.SwayHz: 4, 20: 0} {
			if got := cmplx.Abs(toneAt(samples, at, c.Rate)); math.Abs(got-want) > 1e-5 {
				t.Errorf("%v S/s: %v peak to peak at %v Hz, want %v", c.Rate, got, at, want)
			}
		}
		if mean, _, _ := moments(samples); math.Abs(mean-c.DC) > 1e-5 {
			t.Errorf("%v S/s: DC is %v, want %v", c.Rate, mean, c.DC)
		}
	}
}

// Impulses are as many as a Poisson process has, up as often as down, and fade.
func TestImpulses(t *testing.T) {
	const rate, seconds, perSecond = 48000, 100, 20.0
	count, sum := 0.0, 0.0
	before := 0.0
	keep := math.Exp(-1 / (1e-4 * rate))
	for _, v := range rendered(fsk.Channel{Rate: rate, Impulses: perSecond, Impulse: 2}, seconds) {
		if new := float64(v) - before*keep; math.Abs(new) > 1e-3 {
			count += math.Round(math.Abs(new) / 2)
			sum += math.Round(new / 2)
		}
		before = float64(v)
	}
	want := perSecond * seconds
	if math.Abs(count-want) > 5*math.Sqrt(want) || math.Abs(sum) > 5*math.Sqrt(want) {
		t.Errorf("%v impulses, %v more of them up than down, want %v and 0", count, sum, want)
	}
}

// The zero channel changes nothing.
func TestZeroChannel(t *testing.T) {
	for i, v := range rendered(fsk.Channel{Rate: 8000}, 1) {
		if v != 0 {
			t.Fatalf("sample %d is %v, want 0", i, v)
		}
	}
}

func BenchmarkChannel(b *testing.B) {
	for name, c := range map[string]fsk.Channel{
		"noise": {Noise: 1},
		"RC":    {RC: 65e-6},
		"all":   {RC: 65e-6, HighPass: 400, Noise: 1, Hum: 1, Impulses: 10, Impulse: 1, DC: 1, Sway: 1, SwayHz: 25},
	} {
		b.Run(name, func(b *testing.B) {
			c.Rate = 48000
			samples := make([]float32, 4096)
			for b.Loop() {
				clear(samples)
				c.Pass(samples)
			}
			b.ReportMetric(float64(b.N*len(samples))/c.Rate/b.Elapsed().Seconds(), "×realtime")
		})
	}
}
