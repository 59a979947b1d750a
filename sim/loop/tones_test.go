package loop

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// usual is a loop of a resistor of 250 ohm and two devices without capacitance; a host
// is across the resistor.
func usual() *Loop {
	return &Loop{
		Supply:      Supply{V: 24, Ohm: 1},
		ResistorOhm: 250,
		Host:        Host{V: 0.5, Ohm: 100},
		Devices:     []Device{{Behind: Source, ToneMA: 2}, {Behind: Source, ToneMA: 1.6}},
	}
}

// level holds a level against a number found by hand.
func level(t *testing.T, what string, l *Loop, talker, listener int, want float64) {
	t.Helper()
	if got := l.Tones().Level(talker, listener); !(math.Abs(got-want) <= 1e-8) {
		t.Errorf("%s: got %.9f V, want %.9f V", what, got, want)
	}
}

// A current of 2 mA p-p is 0.5 V across 250 ohm, whatever else is in series. A host that
// gives 0.5 V across 250 ohm gives it there, and as no current flows but through the
// resistor, to every device.
func TestTonesOfAResistorAlone(t *testing.T) {
	l := usual()
	l.BarrierOhm, l.Series = 280, []Instrument{{Ohm: 10}}
	level(t, "the host hears the first", l, 0, TheHost, 0.5)
	level(t, "the host hears the second", l, 1, TheHost, 0.4)
	level(t, "the second hears the first", l, 0, 1, 0.002*(1+250+280+10))
	level(t, "the first hears the host", l, TheHost, 0, 0.5)
	level(t, "the second hears the host", l, TheHost, 1, 0.5)
	level(t, "the host hears itself", l, TheHost, TheHost, 0.5)
}

// A host of 0.5 V at 250 ohm and 100 ohm of its own has 0.7 V without load: across
// 600 ohm that is 0.7·600/700 V. One without an output impedance gives the same
// everywhere.
func TestTonesOfAHostOnAnotherResistor(t *testing.T) {
	l := usual()
	l.ResistorOhm = 600
	level(t, "100 ohm", l, TheHost, 0, 0.6)
	l.Host.Ohm = 0
	level(t, "0 ohm", l, TheHost, 0, 0.5)
}

// 20 nF across a device, no cable: a current of 2 mA divides between 251 ohm of resistor
// and supply, and 1/(ωC), which is 6631 ohm at 1200 Hz and 3617 ohm at 2200 Hz; a host
// drives the capacitance through 1 ohm and 250 ohm beside 100 ohm. The tone of 2200 Hz
// is the smaller one.
func TestTonesOfAResistorAndACapacitance(t *testing.T) {
	l := usual()
	l.Devices[0].InputNF = 20
	for _, hz := range []float64{1200, 2200} {
		ohm := 1 / (2 * math.Pi * hz * 20e-9)
		levels := l.tonesAt(hz).levels
		for _, at := range []struct {
			what             string
			talker, listener int
			want             float64
		}{
			{"the host hears the device", 0, TheHost, 0.5 * ohm / math.Hypot(251, ohm)},
			{"the device hears the host", TheHost, 0, 0.5 * ohm / math.Hypot(1+250*100/350.0, ohm)},
			{"the other device hears it", 0, 1, 0.002 * 251 * ohm / math.Hypot(251, ohm)},
		} {
			if got := levels[at.talker+1][at.listener+1]; !(math.Abs(got-at.want) <= 1e-12) {
				t.Errorf("%v Hz, %s: got %v V, want %v V", hz, at.what, got, at.want)
			}
		}
	}
	ohm := 1 / (2 * math.Pi * 2200 * 20e-9)
	level(t, "the smaller one", l, 0, TheHost, 0.5*ohm/math.Hypot(251, ohm))
}

// A cable of 1000 m without resistance is one capacitance, of 100 nF here.
func TestTonesOfACableWithoutResistance(t *testing.T) {
	l := usual()
	l.Supply.Ohm = 0
	l.Cables = []Cable{{Behind: Source, LengthM: 1000, NFPerKM: 100}}
	l.Devices[0].Behind = 0
	ohm := 1 / (2 * math.Pi * 2200 * 100e-9)
	level(t, "the host hears the far device", l, 0, TheHost, 0.5*ohm/math.Hypot(250, ohm))
}

// At the begin of an endless cable there is its characteristic admittance, √(jωC/R),
// half of it susceptance; here with 72 ohm and 100 nF a kilometre.
//
// Source: from memory (transmission line).
func TestTonesAtAnEndlessCable(t *testing.T) {
	l := usual()
	l.Supply.Ohm = 0
	for _, km := range []float64{100, 1e3, 1e6} {
		l.Cables = []Cable{{Behind: Source, LengthM: km * 1000, OhmPerKM: 36, NFPerKM: 100}}
		part := math.Sqrt(2 * math.Pi * 2200 * 100e-9 / 72 / 2)
		level(t, "the host hears the device", l, 0, TheHost, 0.5/math.Hypot(1+250*part, 250*part))
	}
}

// What a receiver must not take for a carrier.
//
// Source: Texas Instruments application note SLAAER4 (Mar 2025), 3.4.8 table 3-8.
const deafV = 0.080

// Across a supply of 1 ohm: 2 mA there are 2 mV, and 0.7 V behind 100 ohm are
// 0.7/(100·(1/1 + 1/100)) V.
func TestTonesAcrossTheSupply(t *testing.T) {
	l := usual()
	l.Host.At = AcrossSupply
	level(t, "the host hears the device", l, 0, TheHost, 0.002)
	level(t, "the device hears the host", l, TheHost, 0, 0.7/101)
	if got := l.Tones(); got.Level(0, TheHost) >= deafV || got.Level(TheHost, 0) >= deafV {
		t.Errorf("got more than %v V across the supply", deafV)
	}
}

// A supply without any impedance is a short circuit.
func TestTonesAcrossAnIdealSupply(t *testing.T) {
	l := usual()
	l.Supply.Ohm, l.Host.At = 0, AcrossSupply
	for _, ohm := range []float64{0, 100} {
		l.Host.Ohm = ohm
		level(t, "the host hears the device", l, 0, TheHost, 0)
		level(t, "the device hears the host", l, TheHost, 0, 0)
	}
}

// Without a resistor there is nothing across it, and across a device only what the
// supply leaves.
func TestTonesWithoutAResistor(t *testing.T) {
	l := usual()
	l.ResistorOhm = 0
	for _, ohm := range []float64{0, 100} {
		l.Host.Ohm = ohm
		level(t, "the host hears the device", l, 0, TheHost, 0)
		level(t, "the device hears the host", l, TheHost, 0, 0)
		level(t, "the device hears the other", l, 1, 0, 0.0016)
	}
	l.Host.At, l.Host.Ohm = AcrossDevice, 100
	level(t, "the host across the device", l, 0, TheHost, 0.002)
	level(t, "the device hears the host", l, TheHost, 0, 0.7/101)
	l.Supply.Ohm = 0
	level(t, "nothing has any impedance", l, 0, TheHost, 0)
}

// Across a device a host has resistor and supply in parallel to its clips.
func TestTonesAcrossADevice(t *testing.T) {
	l := usual()
	l.Host.At, l.Host.Device = AcrossDevice, 1
	level(t, "the host hears the device", l, 0, TheHost, 0.502)
	level(t, "the device hears the host", l, TheHost, 0, 0.7*251/351)
	l.Host.Ohm = 0
	level(t, "the device hears a host without an impedance", l, TheHost, 0, 0.5)
}

// Two devices on 800 m of cable, with all that a loop can have: 2 mA and 5 nF where the
// cable begins, 1.6 mA and 22 nF at its far end, a supply of 20 ohm, a barrier of 280 ohm,
// a host of 150 ohm and 10 nF.
//
// Source: nodal analysis with complex numbers and the pi of a line, in 40 lines of Python
// that share nothing with this code.
func TestTonesOfAWholeLoop(t *testing.T) {
	for _, tt := range []struct {
		at                     Place
		hz                     float64
		heard0, heard1         float64 // of each device by the host
		hostHeard0, hostHeard1 float64 // of the host by each device
	}{
		{AcrossDevice, 1200, 0.981233, 0.867290, 0.577446, 0.637989},
		{AcrossResistor, 1200, 0.452580, 0.361971, 0.473882, 0.473761},
		{AcrossSupply, 1200, 0.036325, 0.029052, 0.085532, 0.085510},
		{AcrossDevice, 2200, 0.805912, 0.712510, 0.569791, 0.629693},
		{AcrossResistor, 2200, 0.378985, 0.302926, 0.425583, 0.425216},
		{AcrossSupply, 2200, 0.030555, 0.024423, 0.072018, 0.071956},
	} {
		l := &Loop{
			Supply: Supply{V: 24, Ohm: 20}, ResistorOhm: 250, BarrierOhm: 280,
			Host:    Host{At: tt.at, Device: 1, V: 0.5, Ohm: 150, NF: 10},
			Cables:  []Cable{{Behind: Source, LengthM: 800, OhmPerKM: 36, NFPerKM: 100}},
			Devices: []Device{{Behind: Source, InputNF: 5, ToneMA: 2}, {Behind: 0, InputNF: 22, ToneMA: 1.6}},
		}
		got := l.tonesAt(tt.hz).levels
		for _, v := range [][2]float64{{got[1][0], tt.heard0}, {got[2][0], tt.heard1}, {got[0][1], tt.hostHeard0}, {got[0][2], tt.hostHeard1}} {
			if !(math.Abs(v[0]-v[1]) <= 1e-6) {
				t.Errorf("place %d, %v Hz: got %v V, want %v V", tt.at, tt.hz, v[0], v[1])
			}
		}
	}
}

// Tones alternate: swapped leads of the host are no others; and a device whose leads
// are swapped has its capacitance all the same.
func TestTonesWithSwappedLeads(t *testing.T) {
	l := usual()
	l.Devices[1].InputNF = 50
	want := l.Tones()
	l.Host.Swapped, l.Devices[1].Reversed = true, true
	got := l.Tones()
	for talker := TheHost; talker < 2; talker++ {
		for listener := TheHost; listener < 2; listener++ {
			if got.Level(talker, listener) != want.Level(talker, listener) {
				t.Errorf("from %d to %d: got %v V, want %v V", talker, listener, got.Level(talker, listener), want.Level(talker, listener))
			}
		}
	}
}

// A capacitance more across who talks, or across who listens, never raises the level
// between the two. (Beside the way from one to the other it may: at the end of a branch
// it can take susceptance away from where the branch leaves.)
func TestTonesLoseByCapacitance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := toneLoop(t)
		before := l.Tones()
		i := rapid.IntRange(TheHost, len(l.Devices)-1).Draw(t, "where")
		nf := rapid.Float64Range(0.1, 100).Draw(t, "more nF")
		if i == TheHost {
			l.Host.NF += nf
		} else {
			l.Devices[i].InputNF += nf
		}
		after := l.Tones()
		for other := TheHost; other < len(l.Devices); other++ {
			if got, most := after.Level(i, other), before.Level(i, other); !(got <= most*(1+1e-9)+1e-12) {
				t.Fatalf("from %d to %d: got %v V, %v V before", i, other, got, most)
			}
			if got, most := after.Level(other, i), before.Level(other, i); !(got <= most*(1+1e-9)+1e-12) {
				t.Fatalf("from %d to %d: got %v V, %v V before", other, i, got, most)
			}
		}
	})
}

// Two devices that change places as talker and listener hear the same of the same
// current.
func TestTonesAreReciprocal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := toneLoop(t)
		tones := l.Tones()
		for i := range l.Devices {
			for j := range i {
				there, back := tones.Level(i, j)/l.Devices[i].ToneMA, tones.Level(j, i)/l.Devices[j].ToneMA
				if !(math.Abs(there-back) <= 1e-9*there) {
					t.Fatalf("between %d and %d: got %v V a mA there, %v V a mA back", i, j, there, back)
				}
			}
		}
	})
}

// A host of very high impedance is a current of V/250 ohm, and then a host and a device
// are reciprocal too.
func TestTonesAreReciprocalWithAHost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := toneLoop(t)
		l.Host.V, l.Host.Ohm = 0.5, 1e9
		tones := l.Tones()
		for i, d := range l.Devices {
			there, back := tones.Level(TheHost, i)/2, tones.Level(i, TheHost)/d.ToneMA
			if !(math.Abs(there-back) <= 1e-5*there) {
				t.Fatalf("device %d: hears %v V a mA, and is heard with %v V a mA", i, there, back)
			}
		}
	})
}

// A host that is across the resistor hears what there is across it, of everybody: and what
// it hears is judged by nodal analysis.
func TestTonesAcrossTheResistor(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := toneLoop(t)
		l.Host.At = AcrossResistor
		tones := l.Tones()
		for talker := TheHost; talker < len(l.Devices); talker++ {
			if got, want := tones.AcrossResistor(talker), tones.Level(talker, TheHost); !(math.Abs(got-want) <= 1e-9*want) {
				t.Fatalf("talker %d: got %v V, want %v V", talker, got, want)
			}
		}
	})
}

// A cable in two parts is the same cable.
func TestTonesOfADividedCable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := toneLoop(t)
		want := l.tonesAt(1200).levels
		at := rapid.Float64Range(0, 1).Draw(t, "where")
		divided := *l
		divided.Cables = nil
		for i, c := range l.Cables {
			near, far := c, c
			if c.Behind != Source {
				near.Behind = 2*c.Behind + 1
			}
			near.LengthM, far.LengthM, far.Behind = at*c.LengthM, (1-at)*c.LengthM, 2*i
			divided.Cables = append(divided.Cables, near, far)
		}
		divided.Devices = append([]Device(nil), l.Devices...)
		for i := range divided.Devices {
			if d := &divided.Devices[i]; d.Behind != Source {
				d.Behind = 2*d.Behind + 1
			}
		}
		for i, heard := range divided.tonesAt(1200).levels {
			for j, got := range heard {
				if !(math.Abs(got-want[i][j]) <= 1e-9*want[i][j]) {
					t.Fatalf("from %d to %d: got %v V, want %v V", i-1, j-1, got, want[i][j])
				}
			}
		}
	})
}

// Lengths, resistances and capacitances that nobody has still give a number.
func TestTonesAreNumbers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := toneLoop(t)
		for i := range l.Cables {
			for _, of := range []*float64{&l.Cables[i].LengthM, &l.Cables[i].OhmPerKM, &l.Cables[i].NFPerKM} {
				*of *= math.Pow(10, float64(rapid.IntRange(-12, 12).Draw(t, "decades")))
			}
		}
		tones := l.Tones()
		for talker := TheHost; talker < len(l.Devices); talker++ {
			for listener := TheHost; listener < len(l.Devices); listener++ {
				if got := tones.Level(talker, listener); !(got >= 0) || math.IsInf(got, 0) {
					t.Fatalf("from %d to %d: got %v V, want a number", talker, listener, got)
				}
			}
		}
	})
}

// BenchmarkTones is of 15 devices along 15 segments.
func BenchmarkTones(b *testing.B) {
	l := usual()
	l.Devices = nil
	for i := range 15 {
		l.Cables = append(l.Cables, Cable{Behind: i - 1, LengthM: 100, OhmPerKM: 36, NFPerKM: 100})
		l.Devices = append(l.Devices, Device{Behind: i, InputNF: 5, ToneMA: 2})
	}
	b.ReportAllocs()
	for b.Loop() {
		l.Tones()
	}
}
