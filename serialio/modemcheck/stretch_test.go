package modemcheck

import (
	"testing"
	"time"

	"looptone/frame"
)

// TestStretchesAddUp divides a run of a bad modem into stretches, and wants what Compare
// tells of all of it.
func TestStretchesAddUp(t *testing.T) {
	for seed := range uint64(10) {
		m := bad(seed, "garbles 1 in 50", "loses a character of a message", "a character at carrier off")
		sent, heard := m.through(Plan(seed, 20, 1))
		all := Compare(sent, heard, exact)
		var stretches []Stretch
		for from := 0; from < len(sent); from += 5 {
			part := sent[from:min(from+5, len(sent))]
			last := &part[len(part)-1]
			stretches = append(stretches, Stretch{From: part[0].At, To: last.At.Add(time.Duration(len(last.Chars)) * char), Sent: part})
		}
		var sum Way
		for _, w := range CompareEach(stretches, heard, exact) {
			sum.Sent, sum.Heard = sum.Sent+w.Sent, sum.Heard+w.Heard
			sum.Lost, sum.Wrong = sum.Lost+w.Lost, sum.Wrong+w.Wrong
			sum.Stray.Off += w.Stray.All()
			sum.Messages.Whole += w.Messages.Whole
		}
		want := Way{Sent: all.Sent, Heard: all.Heard, Lost: all.Lost, Wrong: all.Wrong, Stray: Stray{Off: all.Stray.All()}, Messages: Messages{Whole: all.Messages.Whole}}
		if sum != want {
			t.Errorf("modem %d: got %+v, want %+v", seed, sum, want)
		}
	}
}

// TestStraysBelongToTheCloserStretch: also to one in which nothing was sent.
func TestStraysBelongToTheCloserStretch(t *testing.T) {
	at := func(s float64) time.Time { return time.Unix(0, 0).Add(time.Duration(s * float64(time.Second))) }
	message := Plan(1, 1, 1)[0].Chars()
	stretches := []Stretch{
		{From: at(0), To: at(3), Sent: []Sent{{At: at(0), Chars: message}}},
		{From: at(10), To: at(11)},
		{From: at(20), To: at(23), Sent: []Sent{{At: at(20), Chars: message}}},
	}
	var heard []frame.Arrival
	for _, s := range []float64{4, 9, 10.5, 12, 19} {
		heard = append(heard, frame.Arrival{At: at(s), Chars: []byte{0x55}})
	}
	for i, want := range []int{1, 3, 1} {
		if got := CompareEach(stretches, heard, exact)[i]; got.Heard != want || got.Stray.All() != want {
			t.Errorf("stretch %d: got %d heard and %d stray, want %d", i, got.Heard, got.Stray.All(), want)
		}
	}
	if CompareEach(nil, heard, exact) != nil {
		t.Error("no stretch has a way")
	}
}
