package loop

// A Rule is a published rule for the length of the cable.
type Rule struct {
	Name    string  // a few words
	Formula string  // as it is used here, with units
	Source  string  // document and place
	MostM   float64 // all cable together that it allows, of the make that the loop has; 0 for none
	Binding bool    // a verdict is made of it; the others are shown beside it
}

// Rules are the published rules for the length of the cable, with what each allows on
// this loop. Without a cable there are none.
func (l *Loop) Rules() []Rule { panic("not written yet") }

// LengthM is that of all cables together.
func (l *Loop) LengthM() (m float64) {
	for i := range l.Cables {
		m += l.Cables[i].LengthM
	}
	return m
}

// TimeConstant is R·C in microseconds: the resistance of the loop up to its far end,
// and all capacitance on it.
func (l *Loop) TimeConstant() float64 { panic("not written yet") }
