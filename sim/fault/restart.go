package fault

import (
	"looptone/sim"
	"looptone/sim/device"
)

// restartWhenAsked lets the device lose its power over a request, unless it has
// times of its own for that.
func restartWhenAsked(s *Set, f *active, now sim.Tick, t *device.Trouble) {
	if f.values["every_s"] == 0 {
		s.restart(f, now)
		t.Silent = true
	}
}

// restart takes the power from the device for a while.
func (s *Set) restart(f *active, now sim.Tick) {
	f.struck++
	f.member.powerOff(now)
	f.mends = s.at(now+f.ticks("down_s", sim.Second), f.member.powerOn)
}

// beginRestarts begins restarts that have times of their own: the first one at
// From where that was given.
func beginRestarts(s *Set, f *active, now sim.Tick) {
	every := f.ticks("every_s", sim.Second)
	if every == 0 {
		return
	}
	first := now + every
	if f.From > 0 && f.From >= now {
		first = f.From
	}
	var lose func(now sim.Tick)
	lose = func(now sim.Tick) {
		if (f.mends == nil || f.mends.over) && f.strikes(now) {
			s.restart(f, now)
		}
		f.next = s.at(now+every, lose)
	}
	f.next = s.at(first, lose)
}

func endRestarts(_ *Set, f *active, _ sim.Tick) { f.next.cancel() }
