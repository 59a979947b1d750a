package linefile

import (
	"math"
	"slices"
	"strings"

	"looptone/sim"
	"looptone/sim/loop"
)

// hearing is how much of what everybody on the line says reaches everybody. Who is
// nowhere in the description is where the host is clipped on.
type hearing struct {
	seats    []*sim.Seat // of the devices
	shares   [][]float32 // by talker, then listener; the host's place stands behind the devices
	resistor []float64   // by talker: how much of it is across the resistor

	everywhere bool // what anybody says reaches everybody strongly enough

	is   []string // what is to be told of it
	told []string // what was told last
	well string   // what is told when nothing is to be told any more
}

// slightly is how far a share may be from 1 and change nothing that could be told.
const slightly = 0.01

// reckon works out the levels, and has the line go by them, if they are others than
// everybody's own.
func (h *hearing) reckon(l *loop.Loop, a *Assembly) {
	tones := l.Tones()
	n := len(l.Devices)
	h.shares, h.resistor = make([][]float32, n+1), make([]float64, n+1)
	differ := false
	h.everywhere = true
	for talker := range h.shares {
		h.shares[talker] = make([]float32, n+1)
		gives := float64(sim.NominalLevel) // what bursts of hosts say
		if talker < n {
			gives = l.Devices[talker].ToneMA * loop.UsualResistorOhm / 1000
		}
		h.resistor[talker] = tones.AcrossResistor(end(talker, n)) / gives
		for listener := range h.shares[talker] {
			level := tones.Level(end(talker, n), end(listener, n))
			h.everywhere = h.everywhere && (talker == listener || level >= sim.AlwaysHeard)
			share := level / gives
			h.shares[talker][listener] = float32(share)
			differ = differ || math.Abs(share-1) > slightly
		}
	}
	h.is, h.well = findings(l, tones)
	if !differ {
		a.Line.Levels(nil)
		return
	}
	a.Line.Levels(h.share)
}

// end is the index of the host's place for the loop, which is behind n devices here.
func end(i, n int) int {
	if i == n {
		return loop.TheHost
	}
	return i
}

// noise is the name of who makes it. Its level is that at the receivers.
const noise = "noise"

// share is for [sim.Line.Levels].
func (h *hearing) share(talker, listener *sim.Seat) float32 {
	if talker.Name == noise {
		return 1
	}
	return h.shares[h.place(talker)][h.place(listener)]
}

// place is where a seat stands among the shares.
func (h *hearing) place(seat *sim.Seat) int {
	i := slices.Index(h.seats, seat)
	if i < 0 && seat != nil {
		if tag, ok := strings.CutSuffix(seat.Name, " babbling"); ok {
			i = slices.IndexFunc(h.seats, func(s *sim.Seat) bool { return s.Name == tag })
		}
	}
	if i < 0 {
		return len(h.seats) // the host's
	}
	return i
}

// news are the findings, where they are others than those that were told last; where none
// is left, that all is well.
func (h *hearing) news() []string {
	if slices.Equal(h.is, h.told) {
		return nil
	}
	if h.told = h.is; len(h.is) == 0 {
		return []string{h.well}
	}
	return h.is
}

// EverybodyHears reports whether what anybody on the line says, at the level that is its
// own, reaches everybody else who is not off the wires strongly enough to be heard.
func (a *Assembly) EverybodyHears() bool {
	return a.electricity == nil || a.electricity.hearing.everywhere
}
