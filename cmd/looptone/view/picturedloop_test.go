package view_test

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pgregory.net/rapid"

	"looptone/sim/loop"
)

// budgetOf is what a picture needs of a budget.
func budgetOf(l *loop.Loop, nowMA, worstMA []float64) *loop.Budget {
	return &loop.Budget{Loop: l, Now: l.Settle(nowMA), Worst: l.Solve(worstMA)}
}

// trapOf is the multidrop trap: 24 V, 250 ohm, 15 parked devices.
func trapOf(liftOff float64) *loop.Budget {
	l := &loop.Loop{Supply: loop.Supply{V: 24}, ResistorOhm: 250}
	for i := range 15 {
		l.Devices = append(l.Devices, loop.Device{Name: fmt.Sprintf("PT-%d", 101+i), Behind: loop.Source, LiftOffV: liftOff})
	}
	parked := slices.Repeat([]float64{4}, 15)
	return budgetOf(l, parked, parked)
}

// treeOf is a trunk with a branch at every fifth segment, and devices all over it.
func treeOf(cables, devices int) *loop.Budget {
	l := &loop.Loop{
		Supply:      loop.Supply{V: 30},
		ResistorOhm: 250,
		BarrierOhm:  20,
		Series:      []loop.Instrument{{Name: "indicator", Ohm: 10}},
	}
	trunk := loop.Source
	for i := range cables {
		l.Cables = append(l.Cables, loop.Cable{
			Name: fmt.Sprintf("segment %d", i+1), Behind: trunk, LengthM: float64(2000/cables + i%7), OhmPerKM: 36,
		})
		if i%5 != 4 {
			trunk = i
		}
	}
	worst := slices.Repeat([]float64{4}, devices)
	for i := range devices {
		l.Devices = append(l.Devices, loop.Device{
			Name: fmt.Sprintf("FT-%d", 1001+i), Behind: i * cables / devices, LiftOffV: 10.5 + float64(i%3),
		})
		if i%9 == 0 {
			worst[i] = 21.5
		}
	}
	l.Devices[0].Reversed = true
	l.Devices[devices-1].LiftOffV = 0
	return budgetOf(l, slices.Repeat([]float64{4}, devices), worst)
}

// renamed has names that are hard on a picture.
func renamed(b *loop.Budget) *loop.Budget {
	l := b.Loop
	for i, name := range []string{`<"&'>`, "</text>", "WWWWWWWW", strings.Repeat("W", 32), "Füllstand", "液位変換器一号"} {
		l.Devices[i].Name = name
	}
	l.Series[0].Name = strings.Repeat("<&>", 20)
	for i := range l.Cables {
		l.Cables[i].Name = `to & "fro" <` + strconv.Itoa(i)
	}
	return b
}

// drawName is a name with signs that XML escapes, wide and narrow letters, and others.
func drawName(t *rapid.T, label string) string {
	return rapid.StringOfN(rapid.SampledFrom([]rune(`<>&"'WMil-. 019aéЖ液`)), 0, 40, -1).Draw(t, label)
}

func drawPicturedLoop(t *rapid.T) (l *loop.Loop, nowMA, worstMA []float64) {
	ohm := rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(1, 1100))
	l = &loop.Loop{
		Supply:      loop.Supply{V: rapid.Float64Range(0.1, 60).Draw(t, "V")},
		ResistorOhm: ohm.Draw(t, "resistor"),
		BarrierOhm:  ohm.Draw(t, "barrier"),
	}
	for range rapid.IntRange(0, 3).Draw(t, "instruments") {
		l.Series = append(l.Series, loop.Instrument{Name: drawName(t, "instrument"), Ohm: ohm.Draw(t, "ohm")})
	}
	longest := rapid.SampledFrom([]float64{0, 1, 30, 3000}).Draw(t, "longest")
	for i := range rapid.IntRange(0, 100).Draw(t, "cables") {
		l.Cables = append(l.Cables, loop.Cable{
			Name:     drawName(t, "cable"),
			Behind:   rapid.IntRange(loop.Source, i-1).Draw(t, "from"),
			LengthM:  rapid.Float64Range(0, longest).Draw(t, "length"),
			OhmPerKM: rapid.Float64Range(1, 100).Draw(t, "ohm/km"),
		})
	}
	for i := range rapid.IntRange(0, 64).Draw(t, "devices") {
		l.Devices = append(l.Devices, loop.Device{
			Name:     strconv.Itoa(i) + "#" + drawName(t, "device"),
			Behind:   rapid.IntRange(loop.Source, len(l.Cables)-1).Draw(t, "behind"),
			LiftOffV: rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(6, 20)).Draw(t, "lift-off"),
			Reversed: rapid.IntRange(0, 9).Draw(t, "reversed") == 0,
		})
		now := rapid.Float64Range(0, 25).Draw(t, "now")
		nowMA, worstMA = append(nowMA, now), append(worstMA, max(now, rapid.Float64Range(0, 25).Draw(t, "worst")))
	}
	return l, nowMA, worstMA
}
