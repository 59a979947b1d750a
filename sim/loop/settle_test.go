package loop

import (
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

// TestSettleStepByStep darkens in steps of its own, with Solve only: each that went dark
// lacked most when it did, and in the end nobody who is lit lacks anything.
func TestSettleStepByStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLoop(t, 30)
		want := drawCurrents(t, l)
		got := l.Settle(want)

		left := append([]float64(nil), want...)
		dark := map[int]float64{}
		for {
			s := l.Solve(left)
			lacks := map[int]float64{}
			most := 0.0
			for i, d := range l.Devices {
				if _, gone := dark[i]; !gone && !d.Reversed && d.LiftOffV > 0 && s.Devices[i].V < d.LiftOffV-1e-9 {
					lacks[i] = d.LiftOffV - s.Devices[i].V
					most = max(most, lacks[i])
				}
			}
			if len(lacks) == 0 {
				break
			}
			last := -1
			for i, lack := range lacks {
				if i > last && lack >= most-1e-12 {
					last = i
				}
			}
			dark[last], left[last] = s.Devices[last].V, 0
		}

		for i, d := range l.Devices {
			p := got.Devices[i]
			was, gone := dark[i]
			switch {
			case d.Reversed:
				if p.Dark != Backwards || p.MA != 0 {
					t.Fatalf("%s is reversed, and is %+v", d.Name, p)
				}
			case gone != (p.Dark == TooLow):
				t.Fatalf("%s is %+v, step by step dark: %v", d.Name, p, gone)
			case gone && math.Abs(p.WasV-was) > 1e-9:
				t.Fatalf("%s went dark at %v V, step by step at %v V", d.Name, p.WasV, was)
			case !gone && (p.MA != want[i] || p.WasV != p.V):
				t.Fatalf("%s is lit and wants %v mA: %+v", d.Name, want[i], p)
			case !gone && d.LiftOffV > 0 && p.V < d.LiftOffV-1e-9:
				t.Fatalf("%s is lit with %v V, lift-off at %v V", d.Name, p.V, d.LiftOffV)
			}
		}
	})
}

// TestSettleAgain: the answer is the same whatever the solution held before.
func TestSettleAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, other := drawLoop(t, 30), drawLoop(t, 30)
		want := drawCurrents(t, l)
		used := other.Solve(drawCurrents(t, other))
		l.SettleInto(used, want)
		fresh := l.Settle(want)
		if len(used.CableV) == 0 && len(fresh.CableV) == 0 {
			used.CableV, fresh.CableV = nil, nil
		}
		if !reflect.DeepEqual(used, fresh) {
			t.Fatalf("in a used solution %+v, in a new one %+v", used, fresh)
		}
	})
}

// TestHigherSupplyTakesNobodyVoltage away where all draw what they want.
func TestHigherSupplyTakesNobodyVoltage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLoop(t, 30)
		want := drawCurrents(t, l)
		before := l.Solve(want)
		l.Supply.V += rapid.Float64Range(0.001, 30).Draw(t, "more")
		after := l.Solve(want)
		for i := range l.Devices {
			if after.Devices[i].V < before.Devices[i].V {
				t.Fatalf("%s has %v V with the higher supply, %v V before", l.Devices[i].Name, after.Devices[i].V, before.Devices[i].V)
			}
		}
	})
}

// TestSettleKeepsTheUnknownLit: nothing is assumed of a device whose lift-off voltage is
// not known, and it weighs on the others.
func TestSettleKeepsTheUnknownLit(t *testing.T) {
	l, parked := multidrop(15, 10.5)
	l.Devices[14].LiftOffV = 0
	s := l.Settle(parked)
	if s.Devices[14].Dark != Lit || s.Devices[13].Dark != TooLow || s.Devices[12].Dark != TooLow || lit(s) != 13 {
		t.Errorf("%+v: want the last one lit, the two before it dark", s.Devices)
	}
}

// TestSettleTakesTheNeediest: the one that lacks most goes first, and that is enough.
func TestSettleTakesTheNeediest(t *testing.T) {
	l, parked := multidrop(14, 10)
	l.Devices[3].LiftOffV = 10.5 // 14 × 4 mA leave 10 V
	s := l.Settle(parked)
	if s.Devices[3].Dark != TooLow || s.Devices[3].WasV != 10 || s.Devices[3].V != 11 || lit(s) != 13 {
		t.Errorf("device 3 is %+v with %d lit, want dark at 10 V, 11 V now, 13 lit", s.Devices[3], lit(s))
	}
}

// trunk is 15 devices on 15 segments.
func trunk(supplyV float64) (*Loop, []float64) {
	l, parked := multidrop(15, 10.5)
	l.Supply.V = supplyV
	for i := range l.Devices {
		l.Cables = append(l.Cables, Cable{Behind: i - 1, LengthM: 50, OhmPerKM: 36, NFPerKM: 100})
		l.Devices[i].Behind = i
	}
	return l, parked
}

func TestAllocationsSettle(t *testing.T) {
	l, parked := trunk(24)
	s := new(Solution)
	l.SettleInto(s, parked)
	if n := testing.AllocsPerRun(100, func() { l.SettleInto(s, parked) }); n != 0 {
		t.Errorf("%v allocations, want none", n)
	}
}

func BenchmarkSettle(b *testing.B) {
	for _, bb := range []struct {
		name    string
		supplyV float64
	}{{"lit", 30}, {"dark", 24}} {
		b.Run(bb.name, func(b *testing.B) {
			l, parked := trunk(bb.supplyV)
			s := new(Solution)
			b.ReportAllocs()
			for b.Loop() {
				l.SettleInto(s, parked)
			}
		})
	}
}
