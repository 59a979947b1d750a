package loop

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// drawLoop draws a tree of up to so many cables with devices on it.
func drawLoop(t *rapid.T, cables int) *Loop {
	l := &Loop{
		Supply:      Supply{V: rapid.Float64Range(10, 60).Draw(t, "supply V"), Ohm: 1},
		ResistorOhm: rapid.SampledFrom([]float64{0, 100, 250, 500}).Draw(t, "resistor"),
		BarrierOhm:  rapid.SampledFrom([]float64{0, 280}).Draw(t, "barrier"),
	}
	for range rapid.IntRange(0, 3).Draw(t, "instruments") {
		l.Series = append(l.Series, Instrument{Name: "indicator", Ohm: float64(rapid.IntRange(0, 50).Draw(t, "instrument"))})
	}
	for i := range rapid.IntRange(0, cables).Draw(t, "cables") {
		l.Cables = append(l.Cables, Cable{
			Name:     fmt.Sprintf("W%d", i),
			Behind:   rapid.IntRange(Source, i-1).Draw(t, "behind"),
			LengthM:  float64(rapid.IntRange(0, 500).Draw(t, "length")),
			OhmPerKM: rapid.SampledFrom([]float64{0, 8.3, 21, 36, 84.2}).Draw(t, "ohm per km"),
			NFPerKM:  float64(rapid.IntRange(0, 200).Draw(t, "nF per km")),
		})
	}
	for i := range rapid.IntRange(1, 20).Draw(t, "devices") {
		l.Devices = append(l.Devices, Device{
			Name:     fmt.Sprintf("FT-%d", i),
			Behind:   rapid.IntRange(Source, len(l.Cables)-1).Draw(t, "hangs"),
			LiftOffV: rapid.SampledFrom([]float64{0, 8, 10.5, 12}).Draw(t, "lift-off"),
			InputNF:  5,
			ToneMA:   2,
			Reversed: rapid.IntRange(0, 9).Draw(t, "reversed") == 0,
		})
	}
	return l
}

// drawCurrents draws what the devices want: parked, live or in alarm.
func drawCurrents(t *rapid.T, l *Loop) (mA []float64) {
	for range l.Devices {
		mA = append(mA, rapid.OneOf(rapid.Just(ParkedMA), rapid.Float64Range(3.6, 22)).Draw(t, "mA"))
	}
	return mA
}

// nodal solves the loop by nodal analysis: a node at the source and one at the far end
// of each cable that has resistance, conductances between them, the supply a current
// into the source through what is in series. Without anything in series the source is
// at the voltage of the supply.
func nodal(l *Loop, drawMA []float64) (volts []float64) {
	nodes, node := 1, map[int]int{Source: 0}
	for i, c := range l.Cables {
		if c.OhmPerKM*c.LengthM == 0 {
			node[i] = node[c.Behind]
			continue
		}
		node[i] = nodes
		nodes++
	}
	g, current := mat.NewDense(nodes, nodes, nil), mat.NewVecDense(nodes, nil)
	for i, c := range l.Cables {
		from, to := node[c.Behind], node[i]
		if from == to {
			continue
		}
		s := 1000 / (2 * c.OhmPerKM * c.LengthM)
		g.Set(from, from, g.At(from, from)+s)
		g.Set(to, to, g.At(to, to)+s)
		g.Set(from, to, g.At(from, to)-s)
		g.Set(to, from, g.At(to, from)-s)
	}
	for i, d := range l.Devices {
		n := node[d.Behind]
		current.SetVec(n, current.AtVec(n)-drawMA[i]/1000)
	}
	series := l.ResistorOhm + l.BarrierOhm
	for _, in := range l.Series {
		series += in.Ohm
	}
	if series == 0 {
		g.SetRow(0, append([]float64{1}, make([]float64, nodes-1)...))
		current.SetVec(0, l.Supply.V)
	} else {
		g.Set(0, 0, g.At(0, 0)+1/series)
		current.SetVec(0, current.AtVec(0)+l.Supply.V/series)
	}
	var v mat.VecDense
	if err := v.SolveVec(g, current); err != nil {
		panic(err)
	}
	for i := Source; i < len(l.Cables); i++ {
		volts = append(volts, v.AtVec(node[i]))
	}
	return volts
}

// TestSolveAgainstNodalAnalysis solves random trees of up to a hundred segments both
// ways: by the ladder, and by the linear equations of all nodes.
func TestSolveAgainstNodalAnalysis(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLoop(t, 100)
		want := drawCurrents(t, l)
		s := l.Solve(want)
		draw := make([]float64, len(want))
		for i, d := range l.Devices {
			if !d.Reversed {
				draw[i] = want[i]
			}
		}
		volts := nodal(l, draw)
		near := func(what string, got, want float64) {
			if math.Abs(got-want) > 1e-7 { // metres beside half a kilometre make the equations stiff
				t.Fatalf("%s: %v V by the ladder, %v V by nodal analysis", what, got, want)
			}
		}
		near("source", s.SourceV, volts[0])
		for i := range l.Cables {
			near(l.Cables[i].Name, s.CableV[i], volts[i+1])
		}
		for i, d := range l.Devices {
			near(d.Name, s.Devices[i].V, volts[d.Behind+1])
		}
	})
}

// TestCurrentIsConserved: what the supply carries is what the devices draw, and what
// comes into the end of a cable leaves it again.
func TestCurrentIsConserved(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLoop(t, 30)
		s := l.Settle(drawCurrents(t, l))
		var sum float64
		leaves := make([]float64, len(l.Cables))
		for i, d := range l.Devices {
			p := s.Devices[i]
			sum += p.MA
			if p.Dark != Lit && p.MA != 0 {
				t.Fatalf("%s is dark and draws %v mA", d.Name, p.MA)
			}
			if d.Behind != Source {
				leaves[d.Behind] += p.MA
			}
		}
		through := func(i int) float64 { // by the voltage that is lost along it
			c := l.Cables[i]
			return (s.at(c.Behind) - s.CableV[i]) / c.ohm() * 1000
		}
		for i, c := range l.Cables {
			if c.ohm() > 0.1 && c.Behind != Source {
				leaves[c.Behind] += through(i)
			} else if c.Behind != Source {
				leaves[c.Behind] = math.NaN() // cannot be told
			}
		}
		for i, c := range l.Cables {
			if c.ohm() <= 0.1 || math.IsNaN(leaves[i]) {
				continue
			}
			if got := through(i); math.Abs(got-leaves[i]) > 1e-6 {
				t.Fatalf("%s: %v mA come in, %v leave", c.Name, got, leaves[i])
			}
		}
		if math.Abs(sum-s.SumMA) > 1e-9 {
			t.Fatalf("devices draw %v mA, the supply carries %v", sum, s.SumMA)
		}
	})
}

// TestSolveByHand goes along a trunk with a spur.
//
// Source: Ohm's law by hand.
func TestSolveByHand(t *testing.T) {
	l := &Loop{
		Supply: Supply{V: 24}, ResistorOhm: 250, BarrierOhm: 100,
		Series: []Instrument{{"indicator", 50}},
		Cables: []Cable{
			{Name: "trunk", Behind: Source, LengthM: 500, OhmPerKM: 20},
			{Name: "far", Behind: 0, LengthM: 1000, OhmPerKM: 20},
			{Name: "spur", Behind: 0, LengthM: 250, OhmPerKM: 50},
		},
		Devices: []Device{{Name: "A", Behind: Source}, {Name: "B", Behind: 1}, {Name: "C", Behind: 2}},
	}
	s := l.Solve([]float64{4, 10, 6})
	// 20 mA through 400 ohm; 16 mA through 20 ohm; 10 mA through 40 ohm; 6 mA through 25 ohm.
	for _, tt := range []struct {
		what      string
		got, want float64
	}{
		{"sum", s.SumMA, 20}, {"source", s.SourceV, 16},
		{"trunk", s.CableV[0], 15.68}, {"far", s.CableV[1], 15.28}, {"spur", s.CableV[2], 15.53},
		{"A", s.Devices[0].V, 16}, {"B", s.Devices[1].V, 15.28}, {"C", s.Devices[2].V, 15.53},
	} {
		if math.Abs(tt.got-tt.want) > 1e-12 {
			t.Errorf("%s is %v, want %v", tt.what, tt.got, tt.want)
		}
	}
}
