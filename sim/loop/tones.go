package loop

import (
	"math"
	"math/cmplx"
)

// TheHost stands for the index of a device, as talker or listener: whoever is clipped
// on at the host's place.
const TheHost = -1

// toneHz are the frequencies of the tones: of a 1, and of a 0.
//
// Source: Texas Instruments application note SLAAEH0 (Nov 2023), 1.5.2.
var toneHz = [...]float64{1200, 2200}

// Tones is what of everybody's tones reaches whom.
type Tones struct {
	levels   [][]float64 // by talker, then listener; the host stands first
	resistor []float64   // by talker: across the resistor
}

// Tones reckons the network at both frequencies of the tones: resistances and
// capacitances, of cables as they are distributed along them; inductance is left out.
// Whether a device is lit is not asked: one that is not has its capacitance all the
// same, and the level it would have if it were.
func (l *Loop) Tones() *Tones {
	t := l.tonesAt(toneHz[0])
	for _, hz := range toneHz[1:] {
		at := l.tonesAt(hz)
		for talker, heard := range at.levels {
			for listener, level := range heard {
				t.levels[talker][listener] = min(t.levels[talker][listener], level)
			}
			t.resistor[talker] = min(t.resistor[talker], at.resistor[talker])
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

// AcrossResistor is the smaller one of the two tones of a talker across the resistor, in
// volts peak to peak.
func (t *Tones) AcrossResistor(talker int) float64 { return t.resistor[talker-TheHost] }

// tonesAt is what everybody hears of everybody at one frequency.
func (l *Loop) tonesAt(hz float64) *Tones {
	n := l.network(2 * math.Pi * hz)
	everybody := len(l.Devices) - TheHost
	t := &Tones{levels: make([][]float64, everybody), resistor: make([]float64, everybody)}
	all := make([]float64, everybody*everybody)
	for i := range t.levels {
		t.levels[i], all = all[:everybody], all[everybody:]
		n.talk(i + TheHost)
		for j := range t.levels[i] {
			t.levels[i][j] = n.across(j + TheHost)
		}
		t.resistor[i] = cmplx.Abs(n.volts[behindResistor] - n.volts[behindSupply])
	}
	return t
}
