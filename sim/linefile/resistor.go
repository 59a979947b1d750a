package linefile

import "looptone/sim"

// Grid is how far apart the moments are at which transmitters move their currents.
func (a *Assembly) Grid() sim.Tick { return sim.Ticks(a.plan.on.grid) }

// ResistorOhm is the resistor that the host reads current and tones across, now.
func (a *Assembly) ResistorOhm() float64 { return a.plan.wiring.loop.ResistorOhm }

// LoopMA is the current that all devices together draw through the resistor now, tones
// apart.
func (a *Assembly) LoopMA() (sum float64) {
	now := a.Line.Now()
	if e := a.electricity; e != nil {
		if !e.canDim || len(e.settled.Devices) == 0 {
			e.update(now) // else as the last step left it, as in [Assembly.TerminalV]
		}
		return e.settled.SumMA
	}
	for i, d := range a.Devices {
		t := d.Transmitter()
		t.To(now)
		if !a.Faults.Off(a.plan.devices[i].Tag) {
			sum += t.WantMA()
		}
	}
	return sum
}

// ResistorV is the amplitude of a burst's tones across the resistor, in volts peak to
// peak: where something is said of the electricity, what of them gets there; else the
// level that receivers have.
func (a *Assembly) ResistorV(talker *sim.Seat, b *sim.Burst) float64 {
	level := float64(b.Level)
	if level == 0 {
		level = sim.NominalLevel
	}
	if e := a.electricity; e != nil && talker.Name != noise {
		level *= e.hearing.resistor[e.hearing.place(talker)]
	}
	return level
}
