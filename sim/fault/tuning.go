package fault

import (
	"slices"

	"looptone/sim"
)

// tuning is how a seat hears.
type tuning struct {
	detect sim.Tick
	echo   bool
}

// delayDetect: where there are several, the longest delay counts.
func delayDetect(f *active, t *tuning) { t.detect = max(t.detect, f.ticks("detect_bits", sim.Bit)) }

func hearOneself(_ *active, t *tuning) { t.echo = true }

// beginTuning changes how seats hear. A station that comes later is tuned when it
// talks for the first time.
func (s *Set) beginTuning(f *active) {
	s.tuners = append(s.tuners, f)
	s.tuneAll()
}

func (s *Set) endTuning(f *active) {
	s.tuners = slices.DeleteFunc(s.tuners, func(t *active) bool { return t == f })
	s.tuneAll()
}

func (s *Set) tuneAll() {
	for _, seat := range s.line.Seats() {
		s.tune(seat)
	}
}

// tuneLate tunes a seat that may have come when the others were tuned.
func (s *Set) tuneLate(seat *sim.Seat) {
	if len(s.tuners) > 0 {
		s.tune(seat)
	}
}

// tune has a seat hear as the faults want it, from now on.
func (s *Set) tune(seat *sim.Seat) {
	var t tuning
	if seat.Name == secondPrimary {
		t.detect = rivalDetect
	}
	for _, f := range s.tuners {
		if f.meets(seat) {
			f.kind.tune(f, &t)
		}
	}
	seat.DetectAfter(t.detect)
	seat.Echo(t.echo)
}
