package fsk_test

import (
	"fmt"
	"math"
	"testing"

	"looptone/serialio/fsk"
)

// conversation is messages with five preambles in carriers of their own, each with its
// own phase and clock, in white noise, and what became of them.
func conversation(rate, db float64, messages int, seed uint64) (t tally) {
	r := seeded(seed)
	d := fsk.NewDemodulator(rate)
	var heard []fsk.Heard
	var want []sent
	var h fsk.Heard
	const amplitude = 0.5
	base := 0.0 // seconds before the piece that is made next
	for range messages {
		k := &talk{at: 0.02 + 0.03*r.Float64(), lead: 1 + 4*r.Float64(), tail: 3 + 2*r.Float64(),
			chars: message(r, 10+r.IntN(25)), amplitude: amplitude, phase: 2 * math.Pi * r.Float64(),
			clock: 0.005 * (2*r.Float64() - 1)}
		samples, chars := render(rate, k.end()+0.02, k)
		addNoise(r, samples, deviation(db, amplitude, rate))
		for _, c := range chars {
			c.at += base
			want = append(want, c)
		}
		base += float64(len(samples)) / rate
		d.Feed(narrow(samples))
		for d.Next(&h) {
			heard = append(heard, h)
		}
	}
	d.End()
	for d.Next(&h) {
		heard = append(heard, h)
	}
	return count(want, heard)
}

// With timing of its own, the demodulator makes hardly more errors in noise than the best
// receiver that there can be, which needs 7.8 dB for one character in a thousand.
func TestNoiseOfMessages(t *testing.T) {
	for _, c := range []struct {
		rate, db float64
		messages int
		most     float64 // of the characters
	}{
		{9600, 8.8, 300, 2e-3},
		{9600, 9.5, 300, 1e-3},
		{48000, 9.5, 200, 1e-3},
	} {
		got := conversation(c.rate, c.db, c.messages, 77)
		t.Logf("%v S/s, %.1f dB: %v", c.rate, c.db, &got)
		if float64(got.errors()) > c.most*float64(got.sent) {
			t.Errorf("%v S/s, %.1f dB: got %d errors in %d characters, want one in %.0f at most",
				c.rate, c.db, got.errors(), got.sent, 1/c.most)
		}
	}
}

// BenchmarkNoise prints the errors of characters over Eb/N0, beside what theory says of
// three receivers that know the timing.
func BenchmarkNoise(b *testing.B) {
	const messages = 4000 // more than 100,000 characters
	for _, rate := range []float64{9600, 48000} {
		for db := 6.0; db <= 14; db += 0.5 {
			b.Run(fmt.Sprintf("%vS/s/%.1fdB", rate, db), func(b *testing.B) {
				var got tally
				for i := range b.N {
					got.add(conversation(rate, db, messages, uint64(i)))
				}
				b.ReportMetric(float64(got.errors())/float64(got.sent), "errors/char")
				for i, name := range []string{"noncoherent", "coherent", "sequence"} {
					b.ReportMetric(ofCharacter(receivers[i].bits(fromDB(db))), name)
				}
				b.Logf("%d sent: %d lost, %d wrong, %d extra", got.sent, got.lost, got.wrong, got.extra)
			})
		}
	}
}
