package linefile

import (
	"time"

	"looptone/frame/unit"
	"looptone/frame/userfile"
	"looptone/sim"
	"looptone/sim/transmitter"
)

// How often totals are saved.
const (
	usualSaving    = 10 * time.Second
	shortestSaving = 100 * time.Millisecond
	longestSaving  = time.Hour
)

// totaliser reads a totaliser, and how often its totals are saved.
func totaliser(t *userfile.Table) (_ *transmitter.Totaliser, saveEvery sim.Tick) {
	t.Need("unit", `"m³"`)
	u := unitOf(t, unit.None, 0) // which one fits the flow, the transmitter knows
	every := duration(t, "save_every", shortestSaving, longestSaving, usualSaving)
	return &transmitter.Totaliser{Unit: u}, sim.Ticks(every)
}
