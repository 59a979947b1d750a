package master_test

import (
	"slices"
	"testing"

	"looptone/sim/master"
)

// What one master has not ended, the next one begins anew; the script notices
// nothing.
func TestResumableGoesOnWhereItWas(t *testing.T) {
	var ended []uint16
	r := master.Resume(func(yield func(*master.Transaction) bool) {
		for n := range uint16(5) {
			if !yield(&master.Transaction{Command: n}) {
				return
			}
			ended = append(ended, n)
		}
	})
	defer r.Stop()
	var asked []uint16
	for masters := 0; len(ended) < 5; masters++ {
		if masters > 5 {
			t.Fatalf("the script does not end: %d", ended)
		}
		left := 2 // each carries out two, and goes while the third is under way
		for tr := range r.Run {
			asked = append(asked, tr.Command)
			if left--; left < 0 {
				break
			}
		}
	}
	if want := []uint16{0, 1, 2, 2, 3, 4, 4}; !slices.Equal(asked, want) {
		t.Errorf("asked %d, want %d", asked, want)
	}
	if want := []uint16{0, 1, 2, 3, 4}; !slices.Equal(ended, want) {
		t.Errorf("ended %d, want %d", ended, want)
	}
}
