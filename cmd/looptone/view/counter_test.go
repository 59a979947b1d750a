package view

import (
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// A counter writes what strconv does, whatever the numbers and their order: those
// that grow slowly, and any.
func TestCounterWritesWhatStrconvDoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var c counter
		n := rapid.Int64().Draw(t, "first")
		for range 100 {
			if got, want := string(c.append([]byte("n "), n)), "n "+strconv.FormatInt(n, 10); got != want {
				t.Fatalf("got %s, want %s", got, want)
			}
			if rapid.Bool().Draw(t, "slowly") && n < math.MaxInt64-1000 {
				n += rapid.Int64Range(-3, 600).Draw(t, "step")
			} else {
				n = rapid.Int64Range(-1, 5000).Draw(t, "any")
			}
		}
	})
}
