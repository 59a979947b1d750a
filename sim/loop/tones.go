package loop

import "math"

// TheHost stands for the index of a device, as talker or listener: whoever is clipped
// on at the host's place.
const TheHost = -1

// toneHz are the frequencies of the tones: of a 1, and of a 0.
//
// Source: Texas Instruments application note SLAAEH0 (Nov 2023), 1.5.2.
var toneHz = [...]float64{1200, 2200}

// Tones is what of everybody's tones reaches whom.
type Tones struct{ levels [][]float64 } // by talker, then listener; the host stands first

// Tones reckons the network at both frequencies of the tones: resistances and
// capacitances, of cables as they are distributed along them; inductance is left out.
// Whether a device is lit is not asked: one that is not has its capacitance all the
// same, and the level it would have if it were.
func (l *Loop) Tones() *Tones {
	t := &Tones{levels: l.levelsAt(toneHz[0])}
	for _, hz := range toneHz[1:] {
		for talker, heard := range l.levelsAt(hz) {
			for listener, level := range heard {
				t.levels[talker][listener] = min(t.levels[talker][listener], level)
			}
		}
	}
	return t
}

// Level is the smaller one of the two tones of a talker at a listener, in volts peak
// to peak; both are indices of devices or [TheHost]. Of what a talker sends it hears
// itself too.
func (t *Tones) Level(talker, listener int) float64 {
	return t.levels[talker-TheHost][listener-TheHost]
}

// levelsAt is what everybody hears of everybody at one frequency.
func (l *Loop) levelsAt(hz float64) [][]float64 {
	n := l.network(2 * math.Pi * hz)
	everybody := len(l.Devices) - TheHost
	levels, all := make([][]float64, everybody), make([]float64, everybody*everybody)
	for i := range levels {
		levels[i], all = all[:everybody], all[everybody:]
		n.talk(i + TheHost)
		for j := range levels[i] {
			levels[i][j] = n.across(j + TheHost)
		}
	}
	return levels
}
