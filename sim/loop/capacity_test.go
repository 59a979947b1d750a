package loop

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// multidrop is a loop of parked devices that are alike, all at the source.
func multidrop(n int, liftOffV float64) (l *Loop, parked []float64) {
	l = &Loop{Supply: Supply{V: 24, Ohm: 1}, ResistorOhm: 250}
	for i := range n {
		l.Devices = append(l.Devices, Device{
			Name: fmt.Sprintf("FT-%d", 101+i), Behind: Source, LiftOffV: liftOffV, InputNF: 5, ToneMA: 2,
		})
		parked = append(parked, ParkedMA)
	}
	return l, parked
}

// lit counts the devices that work.
func lit(s *Solution) (n int) {
	for _, p := range s.Devices {
		if p.Dark == Lit {
			n++
		}
	}
	return n
}

// TestMultidropTrap is exact to the digit: 15 parked devices at 24 V and 250 ohm.
//
// Source: Ohm's law by hand; Siemens Pointek CLS500 manual 7ML19985GG03, p.30 (up to 15
// devices, 4 mA each).
func TestMultidropTrap(t *testing.T) {
	tests := []struct {
		liftOffV, needV float64
		most            int
	}{
		{10.5, 25.5, 13},
		{12, 27, 12},
		{9, 24, 15}, // just enough is enough
	}
	for _, tt := range tests {
		l, parked := multidrop(15, tt.liftOffV)
		all := l.Solve(parked)
		if all.SumMA != 60 || all.SourceV != 9 || all.Devices[14].V != 9 {
			t.Errorf("all draw: %v mA, %v V at the source, %v V at the last device, want 60, 9, 9",
				all.SumMA, all.SourceV, all.Devices[14].V)
		}
		if got := l.NeedV(parked); got != tt.needV {
			t.Errorf("lift-off %v V: needs %v V, want %v", tt.liftOffV, got, tt.needV)
		}
		n, like, ok := l.Most()
		if n != tt.most || like != &l.Devices[0] || !ok {
			t.Errorf("lift-off %v V: at most %d like %v, %v, want %d like the first", tt.liftOffV, n, like, ok, tt.most)
		}
		s := l.Settle(parked)
		if got := lit(s); got != tt.most {
			t.Errorf("lift-off %v V: %d stay lit, want %d", tt.liftOffV, got, tt.most)
		}
		for i, p := range s.Devices {
			if (p.Dark == Lit) != (i < tt.most) {
				t.Errorf("lift-off %v V: device %d is %v; the last of those alike go dark first", tt.liftOffV, i, p.Dark)
			}
		}
		l.Supply.V = tt.needV
		if got := lit(l.Settle(parked)); got != 15 {
			t.Errorf("lift-off %v V: %d stay lit with %v V, want all", tt.liftOffV, got, tt.needV)
		}
	}
}

// TestLoadResistanceChart compares with a published chart: 16 V are across the resistor
// at the largest load for each number of devices.
//
// Source: Yokogawa RotaMASS manual IM 01R04B04-00E, p.6-1 (maximum load resistance for 7
// to 15 devices).
func TestLoadResistanceChart(t *testing.T) {
	chart := []float64{571, 500, 444, 400, 363, 333, 307, 285, 266}
	for i, ohm := range chart {
		n := 7 + i
		l, parked := multidrop(n, 8) // 24 V less 16 V
		l.ResistorOhm = ohm
		if got, _, _ := l.Most(); got != n {
			t.Errorf("%v ohm: at most %d devices, want %d", ohm, got, n)
		}
		if got := lit(l.Settle(parked)); got != n {
			t.Errorf("%v ohm: %d of %d devices are lit, want all", ohm, got, n)
		}
		if lost := 24 - l.Solve(parked).SourceV; lost > 16 || lost < 15.9 {
			t.Errorf("%v ohm, %d devices: %v V across the resistor, want 16", ohm, n, lost)
		}
		l.ResistorOhm = ohm + 1
		if got, _, _ := l.Most(); got != n-1 {
			t.Errorf("%v ohm: at most %d devices, want %d", ohm+1, got, n-1)
		}
	}
}

// TestMostIsWhatSettleKeeps builds the loop of devices alike that Most speaks of.
func TestMostIsWhatSettleKeeps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLoop(t, 12)
		n, like, ok := l.Most()
		if !ok {
			for _, d := range l.Devices {
				if d.LiftOffV > 0 {
					t.Fatalf("no answer, though %s has a lift-off voltage", d.Name)
				}
			}
			return
		}
		alike := *like
		alike.Reversed = false
		many := *l
		many.Devices = nil
		var parked []float64
		for range addresses {
			many.Devices = append(many.Devices, alike)
			parked = append(parked, ParkedMA)
		}
		if got := lit(many.Settle(parked)); got != n {
			t.Fatalf("%d stay lit of 64, want %d", got, n)
		}
		for i := range l.Devices {
			if d := &l.Devices[i]; d.LiftOffV > 0 && l.many(d) < l.many(like) {
				t.Fatalf("%s is more demanding than %s", d.Name, like.Name)
			}
		}
	})
}

// TestMostWithoutResistance: nothing but the number of addresses is a limit.
func TestMostWithoutResistance(t *testing.T) {
	l, _ := multidrop(3, 10.5)
	l.ResistorOhm = 0
	if n, _, _ := l.Most(); n != 64 {
		t.Errorf("at most %d, want 64", n)
	}
	l.Supply.V = 10
	if n, _, _ := l.Most(); n != 0 {
		t.Errorf("at most %d with too low a supply, want 0", n)
	}
}

// TestMostInTenths: decimal numbers that are not exact in binary do not cost a device.
func TestMostInTenths(t *testing.T) {
	l, parked := multidrop(4, 22.8) // 24 V − 22.8 V is 3 × 4 mA · 100 ohm
	l.ResistorOhm = 100
	n, _, _ := l.Most()
	if got := lit(l.Settle(parked)); n != 3 || got != 3 {
		t.Errorf("at most %d, %d stay lit, want 3", n, got)
	}
}

// TestNeedVIsTheLeast: with it all have enough, with a millivolt less not.
func TestNeedVIsTheLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLoop(t, 30)
		want := drawCurrents(t, l)
		need := l.NeedV(want)
		if need == 0 {
			for _, d := range l.Devices {
				if d.LiftOffV > 0 && !d.Reversed {
					t.Fatalf("%s asks for nothing", d.Name)
				}
			}
			return
		}
		missing := func(v float64) float64 {
			l.Supply.V = v
			s := l.Solve(want)
			most := math.Inf(-1)
			for i, d := range l.Devices {
				if d.LiftOffV > 0 && !d.Reversed {
					most = max(most, d.LiftOffV-s.Devices[i].V)
				}
			}
			return most
		}
		if m := missing(need); m > 1e-6 {
			t.Fatalf("with %v V %v V are missing", need, m)
		}
		if m := missing(need - 0.001); m < 0.0009 {
			t.Fatalf("less than %v V would do", need)
		}
	})
}
