package frame_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"looptone/frame"
)

// noisyBlock is how many characters of a frame are noisy: the last data bytes and
// the check byte. What stands before them arrives well, or a wrong byte count would
// make another frame of it.
const noisyBlock = 10

// undetected is the probability that independent bit errors turn n characters of 8
// bits and a parity bit into others that pass both parities: that of the nine bits
// of a character and that down the frame, of the check byte.
//
// Both together are a product code, whose weights follow from those of its dual: of
// rows r and columns c all words have the weight r(9-c) + (n-r)c.
//
// Source: common practice (MacWilliams identity for the binary symmetric channel,
// any handbook of coding).
func undetected(n int, p float64) float64 {
	sum := 0.0
	for r := range n + 1 {
		for c := range 10 {
			weight := r*(9-c) + (n-r)*c
			sum += binomial(n, r) * binomial(9, c) * math.Pow(1-2*p, float64(weight))
		}
	}
	return sum/math.Pow(2, float64(n+9)) - math.Pow(1-p, float64(9*n))
}

func binomial(n, k int) float64 {
	b := 1.0
	for i := range k {
		b = b * float64(n-i) / float64(i+1)
	}
	return b
}

// A noisyLine sends one frame again and again, with bit errors in its block.
type noisyLine struct {
	chance *rand.Rand
	p      float64
	sent   []byte
	chars  []byte
	marks  []frame.MarkAt
}

func newNoisyLine(tb testing.TB, p float64) *noisyLine {
	f := frame.Frame{Kind: frame.STX, Primary: true, Address: frame.Polling(1), Command: 18, Data: make([]byte, noisyBlock-1)}
	for i := range f.Data {
		f.Data[i] = byte(37 * i)
	}
	sent, err := f.AppendBinary(frame.AppendPreambles(nil, 5))
	if err != nil {
		tb.Fatal(err)
	}
	return &noisyLine{chance: rand.New(rand.NewPCG(5, 6)), p: p, sent: sent}
}

// send sends the frame once and reports whether another one was taken for whole.
func (l *noisyLine) send() (fooled bool) {
	l.chars, l.marks = append(l.chars[:0], l.sent...), l.marks[:0]
	hit := false
	for i := len(l.chars) - noisyBlock; i < len(l.chars); i++ {
		odd := false
		for bit := range 9 {
			if l.chance.Float64() < l.p {
				odd, hit = !odd, true
				l.chars[i] ^= byte(1 << bit) // the ninth is the parity bit
			}
		}
		if odd {
			l.marks = append(l.marks, frame.MarkAt{Pos: int64(i), Mark: frame.Parity})
		}
	}
	if !hit {
		return false
	}
	var d frame.Decoder
	var ev frame.Event
	d.Feed(l.chars, l.marks)
	d.End()
	return d.Next(&ev) && ev.Outcome == frame.Whole
}

// What passes parity and check byte is what coding theory says, within five
// standard deviations.
func TestNoiseUndetectedErrors(t *testing.T) {
	for _, p := range []float64{0.01, 0.03, 0.1} {
		const frames = 2_000_000
		line, fooled := newNoisyLine(t, p), 0
		for range frames {
			if line.send() {
				fooled++
			}
		}
		want := undetected(noisyBlock, p)
		got, tolerance := float64(fooled)/frames, 5*math.Sqrt(want/frames)
		if math.Abs(got-want) > tolerance {
			t.Errorf("bit error rate %v: %v of the frames pass with errors, want %v ± %v", p, got, want, tolerance)
		}
		t.Logf("bit error rate %v: %.3g pass with errors, computed %.3g", p, got, want)
	}
}

// BenchmarkUndetectedErrors counts frames that pass although bits are wrong, beside
// what is computed. A bit error rate of 1 % is that of a line on which one frame in
// two is damaged.
func BenchmarkUndetectedErrors(b *testing.B) {
	line, fooled, sent := newNoisyLine(b, 0.01), 0, 0
	for b.Loop() {
		sent++
		if line.send() {
			fooled++
		}
	}
	b.ReportMetric(1e6*float64(fooled)/float64(sent), "undetected/million")
	b.ReportMetric(1e6*undetected(noisyBlock, 0.01), "computed/million")
}
