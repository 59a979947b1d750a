package fsk_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"looptone/serialio/fsk"
)

// A source makes the samples of a line on which nobody sends, one after the other.
type source func() float64

// quiet is what is heard of a source in so many seconds.
func quiet(rate, seconds float64, next source) (heard []fsk.Heard) {
	d := fsk.NewDemodulator(rate)
	block := make([]float32, 4096)
	var h fsk.Heard
	for n := int(rate * seconds); n > 0; n -= len(block) {
		for i := range block {
			block[i] = float32(next())
		}
		d.Feed(block)
		for d.Next(&h) {
			heard = append(heard, h)
		}
	}
	d.End()
	for d.Next(&h) {
		heard = append(heard, h)
	}
	return heard
}

// expectSilence fails the test when more characters are heard than most.
func expectSilence(t *testing.T, most int, heard []fsk.Heard) {
	t.Helper()
	chars := characters(heard)
	t.Logf("%d characters, %d carriers", len(chars), (len(heard)-len(chars))/2)
	if len(chars) > most {
		t.Errorf("got %d characters, want %d at most; the first: %+v", len(chars), most, chars[0])
	}
	expectOrder(t, heard)
}

// White noise of any level makes one character a minute at most.
func TestNoiseWithoutCarrier(t *testing.T) {
	seed := uint64(0)
	for _, rate := range []float64{9600, 48000} {
		for _, level := range []float64{1e-3, 1, 1e3} {
			seed++
			t.Run(fmt.Sprint(rate, " S/s, level ", level), func(t *testing.T) {
				r := seeded(seed)
				expectSilence(t, 1, quiet(rate, 60, func() float64 { return level * r.NormFloat64() }))
			})
		}
	}
}

// Noise with a colour: what is left of it behind filters.
func TestNoiseOfColours(t *testing.T) {
	const rate = 9600
	r := seeded(21)
	brown, low := newPole(2, rate), newPole(800, rate)
	band := newBand(1200, 2200, rate)
	narrowBand := newBand(1190, 1210, rate)
	for name, next := range map[string]source{
		"below 2 Hz":                 func() float64 { return brown.pass(r.NormFloat64()) },
		"below 800 Hz":               func() float64 { return low.pass(r.NormFloat64()) },
		"from 1200 to 2200 Hz":       func() float64 { return band.pass(r.NormFloat64()) },
		"about 1200 Hz":              func() float64 { return narrowBand.pass(r.NormFloat64()) },
		"in steps of an 8-bit scope": func() float64 { return math.Round(0.4*r.NormFloat64()) * scopeStep },
	} {
		t.Run(name, func(t *testing.T) { expectSilence(t, 1, quiet(rate, 60, next)) })
	}
}

// A band is a resonator between two frequencies: a band-pass of the second order.
//
// Source: bilinear transform of w0/Q·s/(s² + w0/Q·s + w0²), from memory.
type band struct{ b, a1, a2, x1, x2, y1, y2 float64 }

func newBand(from, to, rate float64) *band {
	w := 2 * math.Pi * math.Sqrt(from*to) / rate
	alpha := math.Sin(w) * (to - from) / math.Sqrt(from*to) / 2
	return &band{b: alpha / (1 + alpha), a1: -2 * math.Cos(w) / (1 + alpha), a2: (1 - alpha) / (1 + alpha)}
}

func (b *band) pass(x float64) float64 {
	y := b.b*(x-b.x2) - b.a1*b.y1 - b.a2*b.y2
	b.x1, b.x2, b.y1, b.y2 = x, b.x1, y, b.y1
	return y
}

// movement is a loop current by chance, in volts over 250 ohm: steps and walks through the
// 25 Hz low-pass of a transmitter, with hum and a little noise.
func movement(r *rand.Rand, rate float64) source {
	first, second := newPole(25, rate), newPole(25, rate)
	volts, drift, left, n := 3.0, 0.0, 0, 0
	return func() float64 {
		if left--; left < 0 {
			left = int(rate * r.ExpFloat64() / 3)
			drift = 0
			if r.IntN(2) == 0 {
				volts = 1 + 4*r.Float64()
			} else {
				drift = 8 * r.NormFloat64() / rate
			}
		}
		volts = max(1, min(5, volts+drift+0.02*r.NormFloat64()))
		n++
		hum := 2 * math.Pi * 50 * float64(n) / rate
		return second.pass(first.pass(volts)) + 0.02*math.Sin(hum) + 0.005*math.Sin(3*hum) + 0.0005*r.NormFloat64()
	}
}

// Ten minutes of loop current make no character, recorded finely and in the steps of an
// oscilloscope.
func TestNoiseOfLoopMovement(t *testing.T) {
	for _, step := range []float64{0, scopeStep} {
		t.Run(fmt.Sprint("steps of ", step), func(t *testing.T) {
			const rate = 9600
			next := movement(seeded(31), rate)
			expectSilence(t, 0, quiet(rate, 600, func() float64 {
				if v := next(); step == 0 {
					return v
				} else {
					return math.Round(v/step) * step
				}
			}))
		})
	}
}

// Hum alone, tones that are no message, chirps as of a voice and clicks make no character.
// A steady 1200 Hz is a carrier with nothing on it.
func TestNoMessage(t *testing.T) {
	const rate = 19200
	for name, level := range map[string]func(t float64) float64{
		"nothing":  func(float64) float64 { return 0 },
		"a level":  func(float64) float64 { return 2.5 },
		"50 Hz":    tone(50),
		"60 Hz":    tone(60),
		"1200 Hz":  tone(1200),
		"1700 Hz":  tone(1700),
		"2200 Hz":  tone(2200),
		"1000 Hz":  tone(1000),
		"3400 Hz":  tone(3400),
		"a ramp":   func(t float64) float64 { return t },
		"a square": func(t float64) float64 { return math.Copysign(1, math.Sin(2*math.Pi*7*t)) },
		"harmonics of 50 Hz": func(t float64) float64 { // a rectifier: 1150, 1200, 1250 … 2200 Hz are in it
			return math.Abs(math.Sin(2 * math.Pi * 50 * t))
		},
		"chirps": func(t float64) float64 { // 300 to 3000 Hz and back, four times a second
			x := math.Abs(math.Mod(t, 0.25)/0.25 - 0.5)
			return math.Sin(2 * math.Pi * (3000 - 2700*x) * t)
		},
		"clicks": func(t float64) float64 {
			return math.Exp(-math.Mod(t, 0.11)*400) * math.Sin(2*math.Pi*1500*t)
		},
	} {
		t.Run(name, func(t *testing.T) {
			n := -1.0
			expectSilence(t, 0, quiet(rate, 10, func() float64 { n++; return level(n / rate) }))
		})
	}
}

func tone(hz float64) func(t float64) float64 {
	return func(t float64) float64 { return math.Sin(2 * math.Pi * hz * t) }
}

// What is no number is no reason to stop: what follows is heard, at a whole ratio to 9600
// samples a second as at another.
func TestNumbersThatAreNone(t *testing.T) {
	for _, rate := range []float64{19200, 44100, 48000} {
		wave, want := single(rate, &talk{})
		samples := narrow(wave)
		samples[3], samples[50], samples[70] = float32(math.NaN()), float32(math.Inf(1)), -math.MaxFloat32
		if c := count(want, characters(hear(rate, samples, 100))); c.errors() > 0 {
			t.Errorf("%v S/s: %v", rate, &c)
		}
	}
}
