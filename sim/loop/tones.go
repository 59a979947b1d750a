package loop

// TheHost stands for the index of a device, as talker or listener: whoever is clipped
// on at the host's place.
const TheHost = -1

// Tones is what of everybody's tones reaches whom.
type Tones struct{ levels [][]float64 }

// Tones reckons the network at both frequencies of the tones.
func (l *Loop) Tones() *Tones { panic("not written yet") }

// Level is the smaller one of the two tones of a talker at a listener, in volts peak
// to peak; both are indices of devices or [TheHost]. Of what a talker sends it hears
// itself too.
func (t *Tones) Level(talker, listener int) float64 { panic("not written yet") }
