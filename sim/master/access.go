package master

import (
	"looptone/frame"
	"looptone/sim"
)

// access knows when a master may send: the table of [Master].
type access struct {
	primary  bool
	lateness sim.Tick

	from     sim.Tick // the master may send from then on,
	until    sim.Tick // until then if a turn was granted; Never while the line is silent
	busy     bool     // a carrier is on
	bursting bool     // a device publishes on this line
	heard    sim.Tick // end of what was heard last
	asked    sim.Tick // end of the check byte of the master's own last request
}

// quiet is how long the line must be silent before the master takes it. Where a
// device publishes it goes first.
func (a *access) quiet() sim.Tick {
	q := sim.LinkQuietSecondary
	if a.primary {
		q = sim.LinkQuietPrimary
	}
	if a.bursting {
		q += sim.Hold
	}
	return q + a.lateness
}

// wait leaves the line alone until it has been silent since a moment, and since the
// master's own request, for link quiet.
func (a *access) wait(since sim.Tick) { a.from, a.until = max(since, a.asked)+a.quiet(), sim.Never }

// grant gives the master a turn.
func (a *access) grant(at sim.Tick) { a.from, a.until = at, at+sim.Hold+a.lateness }

// opens is when the master may send what must not be sent before earliest: at once
// where that is not later than now; [sim.Never] before a carrier has gone off.
func (a *access) opens(now, earliest sim.Tick) sim.Tick {
	if a.busy {
		return sim.Never
	}
	if now > a.until { // the turn is lost
		a.wait(a.heard)
	}
	a.rest(now)
	return max(a.from, earliest)
}

// rest says that nothing was heard before at. A line on which a device publishes
// is never silent for so long.
func (a *access) rest(at sim.Tick) {
	if a.until == sim.Never && at >= a.from {
		a.bursting = false
	}
}

// carrier takes note of a carrier that goes on or off. One that goes off long behind
// what was heard last carried something that could not be heard, or nothing.
func (a *access) carrier(h *sim.Heard) {
	a.busy = h.Carrier > 0
	if !a.busy && h.At > a.heard+sim.LinkGrant {
		a.wait(h.At)
	}
}

// follow takes note of a frame that ended at a moment.
func (a *access) follow(f *frame.Frame, end sim.Tick) {
	own := f.Primary == a.primary
	a.bursting = a.bursting || f.Kind == frame.BACK
	switch {
	case f.Kind == frame.BACK && !own:
		a.grant(end)
	case f.Kind == frame.BACK, f.Kind == frame.STX, a.bursting:
		a.wait(end)
	case own:
		a.grant(end + sim.LinkGrant)
	default:
		a.grant(end)
	}
}
