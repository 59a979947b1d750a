package fsk_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"looptone/serialio/fsk"
)

// hear is what the demodulator makes of samples that come in pieces of one size.
func hear(rate float64, samples []float32, piece int) (heard []fsk.Heard) {
	d := fsk.NewDemodulator(rate)
	var h fsk.Heard
	for len(samples) > 0 {
		n := min(piece, len(samples))
		d.Feed(samples[:n])
		samples = samples[n:]
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

// characters are those of what was heard, without the carriers.
func characters(heard []fsk.Heard) (chars []fsk.Heard) {
	for _, h := range heard {
		if h.Carrier == 0 {
			chars = append(chars, h)
		}
	}
	return chars
}

// A tally is what became of the characters that were sent.
type tally struct {
	sent, lost, wrong, extra int
	worst                    float64 // bits from a character's place, of those found
	what                     []string
}

// errors are the character errors.
func (t *tally) errors() int { return t.lost + t.wrong + t.extra }

// note adds a sentence, up to a few.
func (t *tally) note(format string, args ...any) {
	if len(t.what) < 6 {
		t.what = append(t.what, fmt.Sprintf(format, args...))
	}
}

const quarterBit = 0.25 / 1200

// count compares what was heard with what was sent. A character is found when one is
// heard within a quarter of a bit of its place.
func count(want []sent, heard []fsk.Heard) (t tally) {
	got := characters(heard)
	t.sent = len(want)
	for _, w := range want {
		for len(got) > 0 && got[0].At < w.at-quarterBit {
			t.extraChar(got[0])
			got = got[1:]
		}
		if len(got) == 0 || got[0].At > w.at+quarterBit {
			t.lost++
			t.note("lost %02x at %.4f s", w.char, w.at)
			continue
		}
		g := got[0]
		got = got[1:]
		t.worst = max(t.worst, math.Abs(g.At-w.at)*1200)
		if g.Char != w.char || g.Mark != w.mark {
			t.wrong++
			t.note("at %.4f s: got %02x [%v], want %02x [%v]", w.at, g.Char, g.Mark, w.char, w.mark)
		}
	}
	for _, g := range got {
		t.extraChar(g)
	}
	return t
}

func (t *tally) extraChar(g fsk.Heard) {
	t.extra++
	t.note("extra %02x [%v] at %.4f s", g.Char, g.Mark, g.At)
}

// add adds another tally.
func (t *tally) add(u tally) {
	t.sent += u.sent
	t.lost += u.lost
	t.wrong += u.wrong
	t.extra += u.extra
	t.worst = max(t.worst, u.worst)
	for _, w := range u.what {
		t.note("%s", w)
	}
}

func (t *tally) String() string {
	return fmt.Sprintf("%d sent: %d lost, %d wrong, %d extra, at most %.2f bits off place\n\t%s",
		t.sent, t.lost, t.wrong, t.extra, t.worst, strings.Join(t.what, "\n\t"))
}

// expectAll fails the test unless every character was heard and no other.
func expectAll(t *testing.T, want []sent, heard []fsk.Heard) {
	t.Helper()
	if len(want) == 0 {
		t.Fatal("nothing was sent")
	}
	if c := count(want, heard); c.errors() > 0 {
		t.Error(&c)
	}
	expectOrder(t, heard)
}

// expectOrder fails the test unless the carrier goes on and off by turns, characters lie
// between, and everything comes in the order of its time and is known behind it.
func expectOrder(t *testing.T, heard []fsk.Heard) {
	t.Helper()
	on, last := false, math.Inf(-1)
	for _, h := range heard {
		switch {
		case h.At < last:
			t.Errorf("%+v comes behind something at %.4f s", h, last)
		case h.Carrier > 0 && on, h.Carrier < 0 && !on, h.Carrier == 0 && !on:
			t.Errorf("%+v with a carrier that is on: %v", h, on)
		case h.Known < h.At && h.Carrier == 0:
			t.Errorf("%+v is known before it begins", h)
		case h.Quality < 0 || h.Quality > 1:
			t.Errorf("%+v: a quality of %v", h, h.Quality)
		}
		if h.Carrier != 0 {
			on = h.Carrier > 0
		}
		last = h.At
	}
}

// narrow makes the samples of the package's kind.
func narrow(samples []float64) []float32 {
	out := make([]float32, len(samples))
	for i, v := range samples {
		out[i] = float32(v)
	}
	return out
}
