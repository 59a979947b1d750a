package fsk_test

import (
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"looptone/serialio/fsk"
)

// minimodem sends an exact clock at these rates only; at 44100 it is 0.68 % slow.
var minimodemRates = []int{19200, 48000, 96000}

// The tests' own modulator makes what minimodem makes, to three steps of 16 bits: its
// phase is a float32.
func TestTalkEqualsMinimodem(t *testing.T) {
	for _, rate := range minimodemRates {
		k := &talk{lead: 3, tail: 7, chars: message(seeded(uint64(rate)), 40), amplitude: 1}
		theirs := minimodemSends(t, rate, k)
		ours, _ := render(float64(rate), k.end(), k)
		if len(theirs) < len(ours) {
			t.Fatalf("%d S/s: got %d samples, want %d", rate, len(theirs), len(ours))
		}
		for i, v := range ours {
			if math.Abs(v-theirs[i]) > 3.0/32767 {
				t.Fatalf("%d S/s: sample %d: got %.5f, minimodem makes %.5f", rate, i, v, theirs[i])
			}
		}
	}
}

// The mixer makes what the tests' own modulator makes, of which minimodem knows only the
// rates above.
func TestMixerEqualsTalk(t *testing.T) {
	r := seeded(3)
	for _, rate := range []float64{8000, 9600, 12345.6, 19200, 44100, 48000, 96000, 192000, 1e6} {
		k := &talk{at: 0.01 + r.Float64()/100, lead: 4 * r.Float64(), tail: 5 * r.Float64(), chars: message(r, 12),
			amplitude: 0.5, phase: 6 * r.Float64(), clock: 0.02 * (r.Float64() - 0.5), pauses: map[int]float64{7: 3.3}}
		want, _ := render(rate, k.end()+0.02, k)
		got := mix(rate, len(want), k)
		for i, w := range want {
			if math.Abs(float64(got[i])-w) > 1e-4 {
				t.Fatalf("%v S/s: sample %d at %.6f s: got %.6f, want %.6f", rate, i, float64(i)/rate, got[i], w)
			}
		}
	}
}

// mix has the mixer make samples of talks.
func mix(rate float64, samples int, talks ...*talk) []float32 {
	m := fsk.NewMixer(rate)
	for _, k := range talks {
		bit := 1 / (1200 * (1 + k.clock))
		c := &fsk.Carrier{At: k.at, Lead: k.lead * bit, Tail: k.tail * bit, Chars: k.chars,
			Voice: fsk.Voice{Amplitude: k.amplitude, Phase: k.phase, ClockPPM: 1e6 * (1/(1+k.clock) - 1)}}
		for i := range k.chars {
			if p := k.pauses[i]; p > 0 {
				c.Pauses = append(c.Pauses, fsk.Pause{Before: i, For: p * bit})
			}
		}
		m.Send(c)
	}
	out := make([]float32, samples)
	m.Read(out)
	return out
}

// What minimodem sends, the demodulator hears: every character in its place and no
// other, also in noise.
func TestHearsMinimodem(t *testing.T) {
	for _, rate := range minimodemRates {
		for _, db := range []float64{math.Inf(1), 16, 14} {
			t.Run(fmt.Sprint(rate, " S/s, ", db, " dB"), func(t *testing.T) {
				r := seeded(uint64(rate) + uint64(min(db, 99)))
				k := &talk{lead: 5, tail: 6, pauses: make(map[int]float64)}
				for m := range 4 {
					k.pauses[len(k.chars)] = float64(r.IntN(40))
					k.pauses[len(k.chars)+12+m] = float64(r.IntN(30)) // inside the message
					k.chars = append(k.chars, message(r, 20)...)
				}
				samples := minimodemSends(t, rate, k)
				addNoise(r, samples, deviation(db, 1, float64(rate)))
				expectAll(t, k.sent(), hear(float64(rate), narrow(samples), 4096))
			})
		}
	}
}

// The same at rates that minimodem does not make; sox makes them of its 96 kHz.
func TestHearsMinimodemThroughSox(t *testing.T) {
	sox := need(t, "sox")
	k := &talk{lead: 6, tail: 6, chars: append(message(seeded(2), 40), message(seeded(6), 40)...), pauses: map[int]float64{45: 30}}
	dir := t.TempDir()
	made := filepath.Join(dir, "made.wav")
	writeWAV(t, made, 96000, minimodemSends(t, 96000, k))
	for _, rate := range []string{"8000", "11025", "22050", "44100", "192000"} {
		t.Run(rate, func(t *testing.T) {
			out := filepath.Join(dir, rate+".wav")
			program(t, "", sox, made, "-b", "16", out, "rate", "-h", rate)
			hz, err := strconv.ParseFloat(rate, 64)
			if err != nil {
				t.Fatal(err)
			}
			expectAll(t, k.sent(), hear(hz, narrow(readWAV(t, out)), 4096))
		})
	}
}

// What the mixer sends, minimodem hears, in the answer that most of its settings give.
func TestMinimodemHears(t *testing.T) {
	need(t, "minimodem")
	for _, rate := range append(minimodemRates, 44100) {
		for _, db := range []float64{math.Inf(1), 16, 14} {
			t.Run(fmt.Sprint(rate, " S/s, ", db, " dB"), func(t *testing.T) {
				r := seeded(uint64(rate) + uint64(min(db, 99)))
				for range 2 {
					k := &talk{lead: 30 + r.Float64(), tail: 80, chars: message(r, 12), amplitude: 0.4,
						phase: 6 * r.Float64(), clock: 0.006 * (r.Float64() - 0.5)}
					expectMinimodem(t, rate, k, mixNoisy(rate, k, db))
				}
			})
		}
	}
}

// mixNoisy is what the mixer makes of a talk, with noise.
func mixNoisy(rate int, k *talk, db float64) []float64 {
	made := mix(float64(rate), int((k.end()+0.01)*float64(rate)), k)
	samples := make([]float64, len(made))
	for i, v := range made {
		samples[i] = float64(v)
	}
	addNoise(seeded(uint64(len(made))), samples, deviation(db, k.amplitude, float64(rate)))
	return samples
}

// expectMinimodem fails the test unless minimodem hears the talk and nothing else in the
// answer that most of its settings give.
func expectMinimodem(t *testing.T, rate int, k *talk, samples []float64) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "talk.wav")
	writeWAV(t, file, rate, samples)
	votes := make(map[string]int)
	best := ""
	for _, s := range minimodemSettings {
		answer := sentence(minimodemHears(t, file, s))
		votes[answer]++
		if votes[answer] > votes[best] {
			best = answer
		}
	}
	if want := sentence(k.sent()); best != want {
		t.Errorf("minimodem, %d of %d settings:\ngot  %s\nwant %s", votes[best], len(minimodemSettings), best, want)
	}
}

// Tones on a level that moves by 16 times their amplitude, as the loop current does:
// minimodem hears them behind a high-pass of sox, the demodulator as they are.
func TestMovingLevelWithMinimodem(t *testing.T) {
	need(t, "minimodem")
	for _, rate := range []int{19200, 48000} {
		t.Run(strconv.Itoa(rate), func(t *testing.T) {
			k := &talk{lead: 60, tail: 80, chars: message(seeded(5), 12), amplitude: 0.03}
			samples, want := render(float64(rate), k.end(), k)
			for i := range samples {
				samples[i] += 0.3 + 0.24*math.Sin(2*math.Pi*25*float64(i)/float64(rate))
			}
			expectAll(t, want, hear(float64(rate), narrow(samples), 4096))

			dir := t.TempDir()
			moving, passed := filepath.Join(dir, "moving.wav"), filepath.Join(dir, "passed.wav")
			writeWAV(t, moving, rate, samples)
			program(t, "", need(t, "sox"), moving, passed, "highpass", "300")
			heard := 0
			for _, s := range minimodemSettings { // the filter rings at the beginning
				if strings.HasSuffix(sentence(minimodemHears(t, passed, s)), sentence(k.sent())) {
					heard++
				}
			}
			if heard < 3 {
				t.Errorf("%d of %d settings of minimodem hear the talk", heard, len(minimodemSettings))
			}
		})
	}
}
