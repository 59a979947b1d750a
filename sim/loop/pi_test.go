package loop

import (
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"
)

// What a pi hands on is what a line does: a voltage at the near end is cosh g times the
// one at an open far end, and R·sinh(g)/g times the current into a short circuit there.
//
// Source: from memory (chain matrix of a transmission line).
func TestPiIsALine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := &Cable{LengthM: rapid.Float64Range(1, 20000).Draw(t, "m"), OhmPerKM: rapid.Float64Range(1, 100).Draw(t, "ohm per km"),
			NFPerKM: rapid.Float64Range(10, 400).Draw(t, "nF per km")}
		const omega = 2 * math.Pi * 2200
		ohm, farad := 2*c.OhmPerKM*c.LengthM/1000, c.NFPerKM*c.LengthM*1e-12
		part := math.Sqrt(omega * ohm * farad / 2) // g is so much of 1 and of j
		grown, shrunk := cmplx.Rect(math.Exp(part), part), cmplx.Rect(math.Exp(-part), -part)

		series, shunt := c.pi(omega)
		if got, want := 1+series*shunt, (grown+shrunk)/2; !(cmplx.Abs(got-want) <= 1e-9*cmplx.Abs(want)) {
			t.Fatalf("open: got %v, want %v", got, want)
		}
		want := complex(ohm, 0) * (grown - shrunk) / 2 / complex(part, part)
		if !(cmplx.Abs(series-want) <= 1e-9*cmplx.Abs(want)) {
			t.Fatalf("into a short circuit: got %v ohm, want %v ohm", series, want)
		}
	})
}

func TestPiOfWhatIsNone(t *testing.T) {
	const omega = 2 * math.Pi * 1200
	for _, c := range []struct {
		what          string
		cable         Cable
		series, shunt complex128
	}{
		{"no length", Cable{OhmPerKM: 36, NFPerKM: 100}, 0, 0},
		{"no resistance", Cable{LengthM: 500, NFPerKM: 100}, 0, complex(0, omega*25e-9)},
		{"no capacitance", Cable{LengthM: 500, OhmPerKM: 36}, 36, 0},
	} {
		series, shunt := c.cable.pi(omega)
		if !(cmplx.Abs(series-c.series) <= 1e-12) || !(cmplx.Abs(shunt-c.shunt) <= 1e-18) {
			t.Errorf("%s: got %v ohm and %v S, want %v and %v", c.what, series, shunt, c.series, c.shunt)
		}
	}
}
