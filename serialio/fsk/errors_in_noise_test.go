package fsk_test

import (
	"math"
	"path/filepath"
	"slices"
	"testing"
)

// noisy is a carrier with one message in white noise, with as much mark before and behind
// as minimodem needs.
func noisy(rate, db float64, chars int, seed uint64) (samples []float64, want []sent) {
	r := seeded(seed)
	k := &talk{lead: 30 + r.Float64(), tail: 80, chars: message(r, chars-5), amplitude: 0.2, phase: 6 * r.Float64()}
	samples, want = render(rate, k.end(), k)
	addNoise(r, samples, deviation(db, k.amplitude, rate))
	return samples, want
}

// distance is the fewest characters that are lost, wrong or too many between two rows.
func distance(want, got []sent) int {
	row := make([]int, len(got)+1)
	for j := range row {
		row[j] = j
	}
	for i, w := range want {
		left := row[0]
		row[0] = i + 1
		for j, g := range got {
			d := left
			if w.char != g.char || w.mark != g.mark {
				d++
			}
			left = row[j+1]
			row[j+1] = min(d, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(got)]
}

// The demodulator makes no more errors in noise than minimodem does with the best of its
// settings, on the same files. minimodem's errors are counted without their places, which
// it does not tell, and so low; the settings left out here have several times as many.
func TestNoiseBesideMinimodem(t *testing.T) {
	need(t, "minimodem")
	const rate, messages, length = 48000, 20, 100
	settings := minimodemSettings[1:4]
	file := filepath.Join(t.TempDir(), "noisy.wav")
	for _, db := range []float64{10, 12, 13.8} {
		var ours tally
		theirs := make([]int, len(settings))
		for m := range messages {
			samples, want := noisy(rate, db, length, uint64(100*db)+uint64(m))
			writeWAV(t, file, rate, samples)
			for i, s := range settings {
				theirs[i] += distance(want, minimodemHears(t, file, s))
			}
			ours.add(count(want, hear(rate, narrow(readWAV(t, file)), 4096)))
		}
		t.Logf("%.1f dB: of %d characters %d wrong, minimodem %d", db, ours.sent, ours.errors(), theirs)
		if ours.errors() > slices.Min(theirs) {
			t.Errorf("%.1f dB: minimodem has %d errors, the demodulator: %v", db, theirs, &ours)
		}
	}
}

// No receiver has fewer errors than theory allows: a check that the noise is what it says.
func TestNoiseIsReal(t *testing.T) {
	for _, rate := range []float64{9600, 48000} {
		var ours tally
		for m := range 15 {
			samples, want := noisy(rate, 6, 200, uint64(rate)+uint64(m))
			ours.add(count(want, hear(rate, narrow(samples), 4096)))
		}
		least := float64(ours.sent) * ofCharacter(sequenceBits(fromDB(6)))
		t.Logf("%v S/s, 6 dB: %d errors of %d, theory at least %.0f", rate, ours.errors(), ours.sent, least)
		if float64(ours.errors()) < least-4*math.Sqrt(least) {
			t.Errorf("%v S/s, 6 dB: got %d errors in %d characters, fewer than the %.0f of the best receiver that there can be",
				rate, ours.errors(), ours.sent, least)
		}
	}
}
