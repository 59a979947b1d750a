package loop

// rounding is what a number may be beyond a limit and still keep it: sums of decimal
// numbers are not exact.
const rounding = 1e-9

// Settle finds out who stays lit: of all devices with less than their lift-off voltage
// the one that lacks most goes dark, of several the last, and so on until those that are
// lit have enough. A device whose lift-off voltage is not known stays lit. Who went dark
// stays so, also where its own current was all that was too much: it would come back and
// go again.
func (l *Loop) Settle(wantMA []float64) *Solution {
	s := new(Solution)
	l.SettleInto(s, wantMA)
	return s
}

// SettleInto is [Loop.Settle] in the space of a solution that is not wanted any more;
// its zero value will do.
func (l *Loop) SettleInto(s *Solution, wantMA []float64) {
	s.begin(l, wantMA)
	for {
		s.ladder(l)
		i := s.neediest(l)
		if i < 0 {
			break
		}
		p := &s.Devices[i]
		p.MA, p.Dark, p.WasV = 0, TooLow, p.V
	}
	s.remember()
}

// neediest is the index of the lit device that lacks most, of several the last; -1
// where all have enough.
func (s *Solution) neediest(l *Loop) int {
	worst, most := -1, rounding
	for i := range s.Devices {
		d := &l.Devices[i]
		if s.Devices[i].Dark != Lit || d.LiftOffV == 0 {
			continue
		}
		lacks := d.LiftOffV - s.Devices[i].V
		if lacks > rounding && lacks >= most-rounding {
			worst, most = i, max(lacks, most)
		}
	}
	return worst
}
