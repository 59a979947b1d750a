package loop

// ohm is the resistance of both cores of a cable.
func (c *Cable) ohm() float64 { return 2 * c.OhmPerKM * c.LengthM / 1000 }

// seriesOhm is the resistance of all that is in series with the supply before the first
// cable.
func (l *Loop) seriesOhm() float64 { return l.ResistorOhm + l.inlineOhm() }

// inlineOhm is the resistance of what stands between the resistor and the cables.
func (l *Loop) inlineOhm() float64 {
	ohm := l.BarrierOhm
	for i := range l.Series {
		ohm += l.Series[i].Ohm
	}
	return ohm
}

// pathOhm is the resistance of all cable from the source to the end of a cable.
func (l *Loop) pathOhm(cable int) (ohm float64) {
	for ; cable != Source; cable = l.Cables[cable].Behind {
		ohm += l.Cables[cable].ohm()
	}
	return ohm
}
