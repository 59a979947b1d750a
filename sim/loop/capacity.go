package loop

// ParkedMA is what a device draws that is parked.
//
// Source: Siemens Pointek CLS500 manual 7ML19985GG03, p.30 (multidrop: 4 mA each).
const ParkedMA = 4.0

// addresses is how many devices one loop can hold: there are no more polling addresses.
//
// Source: guide "HART communication protocol VER 1.6" (low 6 bits, 0 to 63).
const addresses = 64

// NeedV is the least supply voltage with which every device has its lift-off voltage
// while all draw what they want. Devices that are reversed, and those whose lift-off
// voltage is not known, ask for nothing; it is 0 where none asks.
func (l *Loop) NeedV(wantMA []float64) (v float64) {
	drops := l.drops(wantMA)
	for i := range l.Devices {
		if d := &l.Devices[i]; d.LiftOffV > 0 && !d.Reversed {
			v = max(v, d.LiftOffV-drops.Devices[i].V)
		}
	}
	return v
}

// drops is the loop without a supply: voltages are what is lost on the way, below zero.
func (l *Loop) drops(wantMA []float64) *Solution {
	unfed := *l
	unfed.Supply.V = 0
	return unfed.Solve(wantMA)
}

// Most is how many parked devices (4 mA each) a supply of this voltage keeps lit, if all
// are like the most demanding one of the loop and hang where it does; ok is false where
// no lift-off voltage is known. Of several that are as demanding it is the first. It is
// never more than 64: there are no more polling addresses.
func (l *Loop) Most() (n int, like *Device, ok bool) {
	var fewest float64
	for i := range l.Devices {
		d := &l.Devices[i]
		if d.LiftOffV == 0 {
			continue
		}
		if many := l.many(d); like == nil || many < fewest {
			fewest, like = many, d
		}
	}
	return int(fewest), like, like != nil
}

// many is how many parked devices like this one stay lit at its place, 0 to 64, with a
// fraction: that tells which of two is the more demanding one.
func (l *Loop) many(d *Device) float64 {
	spare := l.Supply.V - d.LiftOffV + rounding
	if spare < 0 {
		return 0
	}
	each := ParkedMA * (l.seriesOhm() + l.pathOhm(d.Behind)) / 1000
	if spare >= addresses*each {
		return addresses
	}
	return spare / each
}
