package fsk

import (
	"math"
	"testing"
)

// Edges with jitter have its standard deviation about their places, lose nothing over
// the message, and stay in their order; the phase follows them.
func TestJitterOfEdges(t *testing.T) {
	c := &Carrier{At: 1, Lead: 0.01, Tail: 0.01, Chars: make([]byte, 2000), Voice: Voice{Jitter: 0.1, Seed: 9}}
	s := newStretches(c)
	last, sum, squares, n := 0.0, 0.0, 0.0, 0.0
	for i := 0; ; i++ {
		x, ok := s.next()
		if !ok {
			break
		}
		if x.end < last {
			t.Fatalf("stretch %d ends %v s before it begins", i, last-x.end)
		}
		hz := SpaceHz
		if x.mark {
			hz = MarkHz
		}
		if want := (x.end - last) * hz; math.Abs(x.cycles-want) > 1e-6 {
			t.Fatalf("stretch %d has %v periods, want %v", i, x.cycles, want)
		}
		if last = x.end; i <= len(c.Chars)*charBits {
			off := (x.end-0.01)*BitRate - float64(i)
			sum, squares, n = sum+off, squares+off*off, n+1
		}
	}
	if got := math.Sqrt(squares / n); math.Abs(got/0.1-1) > 5/math.Sqrt(2*n) || math.Abs(sum/n) > 5*0.1/math.Sqrt(n) {
		t.Errorf("edges are off by %v bits on the average, with a deviation of %v, want 0 and 0.1", sum/n, got)
	}
	if want := c.End() - c.At; math.Abs(last-want) > 1e-9 {
		t.Errorf("it ends after %v s, want %v", last, want)
	}
}
