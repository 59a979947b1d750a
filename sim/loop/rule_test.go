package loop

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// rule is the one that has this in its formula.
func rule(t *testing.T, l *Loop, formula string) Rule {
	t.Helper()
	for _, r := range l.Rules() {
		if strings.Contains(r.Formula, formula) {
			return r
		}
	}
	t.Fatalf("no rule with %q", formula)
	return Rule{}
}

// pointek is 250 ohm, 100 m of 0.0736 ohm/m (both cores) and 0.1 nF/m, and devices.
func pointek(devicesNF float64) *Loop {
	return &Loop{
		ResistorOhm: 250,
		Cables:      []Cable{{Behind: Source, LengthM: 100, OhmPerKM: 36.8, NFPerKM: 100}},
		Devices:     []Device{{InputNF: devicesNF / 2}, {InputNF: devicesNF / 2}},
	}
}

// Source: Siemens SITRANS Pointek CLS500 manual 7ML19985GG03 p.30 (68 nF: 20 µs).
func TestTimeConstantAsPublished(t *testing.T) {
	if got := pointek(68).TimeConstant(); math.Round(got) != 20 {
		t.Errorf("got %v µs, want 20 µs", got)
	}
}

// With a barrier of 280 ohm there are 537 ohm, and 121 nF are allowed, cable and all.
//
// Source: Siemens SITRANS LC500 manual 7ML19985GE01 p.24.
func TestCapacitanceBehindABarrierAsPublished(t *testing.T) {
	l := pointek(121 - 10)
	l.BarrierOhm = 280
	if got := l.seriesOhm() + l.pathOhm(0); math.Round(got) != 537 {
		t.Errorf("got %v ohm, want 537 ohm", got)
	}
	if got := 121 * 65 / l.TimeConstant(); math.Round(got) != 121 {
		t.Errorf("got %v nF allowed, want 121 nF", got)
	}
	if got := rule(t, l, "65 µs").MostM; math.Round(got) != 100 {
		t.Errorf("with 121 nF less 10 nF of cable: got %v m, want the 100 m of the cable", got)
	}
}

const foot = 0.3048 // in m

// 50 000 pF of the master, a cable of 50 pF/ft: 2200 ft.
//
// Source: Emerson DVC6000 SIS manual p.2-30.
func TestLengthBesideAMasterAsPublished(t *testing.T) {
	l := &Loop{ResistorOhm: 250, Host: Host{NF: 50}, Cables: []Cable{{Behind: Source, LengthM: 100, OhmPerKM: 36, NFPerKM: 50 / foot}}}
	if got := rule(t, l, "160 000").MostM / foot; !(math.Abs(got-2200) <= 1e-9) {
		t.Errorf("got %v ft, want 2200 ft", got)
	}
}

// 65·10⁶/(250·50) − (50 000 + 10 000)/50 = 5200 − 1200 = 4000 ft.
//
// Source: Yokogawa RotaMASS manual IM 01R04B04-00E p.6-1 (the formula, and 50 000 pF);
// the other numbers and the result by hand.
func TestLengthByReceivers(t *testing.T) {
	l := &Loop{ResistorOhm: 150, BarrierOhm: 80, Series: []Instrument{{Ohm: 20}}, Cables: []Cable{{Behind: Source, LengthM: 100, OhmPerKM: 36, NFPerKM: 50 / foot}},
		Devices: []Device{{Behind: Source, InputNF: 20}, {Behind: 0, InputNF: 30}}}
	if got := rule(t, l, "10 000").MostM / foot; !(math.Abs(got-4000) <= 1e-9) {
		t.Errorf("got %v ft, want 4000 ft", got)
	}
}

// Source: Yokogawa RotaMASS manual IM 01R04B04-00E p.6-1, ADMAG AXFA11 manual IM
// 01E20C01 p.8-2 (2000 m, 1000 m); Instrumentation Reference Book, 3rd ed., p.227
// (3000 m).
func TestLengthsQuoted(t *testing.T) {
	for _, c := range []struct {
		name  string
		mostM float64
	}{{"single pair", 2000}, {"multi-pair", 1000}, {"screened pair of 0.5 mm²", 3000}} {
		found := false
		for _, r := range pointek(68).Rules() {
			if strings.Contains(r.Name, c.name) {
				found = true
				if r.MostM != c.mostM || r.Binding {
					t.Errorf("%s: got %v m, binding %v; want %v m, not binding", c.name, r.MostM, r.Binding, c.mostM)
				}
			}
		}
		if !found {
			t.Errorf("no rule for %s", c.name)
		}
	}
}

// (250 + 0.0736·L)·(68 + 0.1·L) = 65 000: L² + 4077 L − 6 521 739 = 0 but for
// rounding, so L = 1229 m.
func TestLengthByTheProduct(t *testing.T) {
	r := rule(t, pointek(68), "65 µs")
	if math.Round(r.MostM) != 1229 || !r.Binding {
		t.Errorf("got %v m, binding %v; want 1229 m, binding", r.MostM, r.Binding)
	}
	want := "(R + Rcable·L)·(C + Ccable·L) < 65 µs with R = 250 ohm, Rcable = 0.0736 ohm/m, C = 68 nF, Ccable = 0.1 nF/m"
	if r.Formula != want {
		t.Errorf("got %s\nwant %s", r.Formula, want)
	}
}

// A loop whose cables grow by one factor to what the product rule allows has 65 µs.
func TestLengthByTheProductOfAnyTree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := toneLoop(t)
		var most float64
		for _, r := range l.Rules() {
			if r.Binding {
				most = r.MostM
			}
		}
		length := l.LengthM()
		if most == 0 || length == 0 {
			return // TestRulesLeaveNone and TestRulesWithoutLength
		}
		for i := range l.Cables {
			l.Cables[i].LengthM *= most / length
		}
		if got := l.TimeConstant(); !(math.Abs(got-65) <= 1e-9) {
			t.Fatalf("%v m: got %v µs, want 65 µs", most, got)
		}
	})
}

// The longest way counts for R, all cable for C: a trunk of 100 ohm and 10 nF with
// branches of 20 ohm and 50 nF, 60 ohm and 5 nF.
func TestTimeConstantOfATree(t *testing.T) {
	l := &Loop{ResistorOhm: 250, Host: Host{NF: 2}, Cables: []Cable{
		{Behind: Source, LengthM: 1000, OhmPerKM: 50, NFPerKM: 10},
		{Behind: 0, LengthM: 500, OhmPerKM: 20, NFPerKM: 100},
		{Behind: 0, LengthM: 500, OhmPerKM: 60, NFPerKM: 10},
	}, Devices: []Device{{Behind: 1, InputNF: 5, Reversed: true}}}
	if got, want := l.TimeConstant(), (250+100+60)*(2+10+50+5+5)/1000.0; !(math.Abs(got-want) <= 1e-9) {
		t.Errorf("got %v µs, want %v µs", got, want)
	}
}

// Who asks how long a cable may be gets the answer for one of the first make.
func TestRulesWithoutLength(t *testing.T) {
	l := pointek(68)
	want := l.Rules()
	l.Cables[0].LengthM = 0
	l.Cables = append(l.Cables, Cable{Behind: 0, OhmPerKM: 5, NFPerKM: 300})
	all := l.Rules()
	if len(all) != len(want) {
		t.Fatalf("got %d rules, want %d", len(all), len(want))
	}
	for i, got := range all {
		if !(math.Abs(got.MostM-want[i].MostM) <= 1e-9) || got.Formula != want[i].Formula {
			t.Errorf("%s: got %v m, want %v m", got.Formula, got.MostM, want[i].MostM)
		}
	}
	if got := l.TimeConstant(); !(math.Abs(got-17) <= 1e-9) { // 250 ohm, 68 nF
		t.Errorf("got %v µs, want 17 µs", got)
	}
}

// 250 ohm and 300 nF are 75 µs without any cable; a master of 200 nF is above 160 nF.
func TestRulesLeaveNone(t *testing.T) {
	l := pointek(300)
	l.Host.NF = 200
	for _, formula := range []string{"65 µs", "10 000", "160 000"} {
		if got := rule(t, l, formula).MostM; got != 0 {
			t.Errorf("%s: got %v m, want none", formula, got)
		}
	}
}

func TestRulesWithoutCable(t *testing.T) {
	l := pointek(68)
	l.Cables = nil
	if got := l.Rules(); len(got) != 0 {
		t.Errorf("got %v, want no rules", got)
	}
}

// Where a rule sets no limit it is left out: without capacitance in the cable only its
// resistance counts, (250 + 0.0736·L)·68 = 65 000, and without any there is no limit.
func TestRulesWithoutCapacitance(t *testing.T) {
	l := pointek(68)
	l.Cables[0].NFPerKM = 0
	if got := rule(t, l, "65 µs").MostM; !(math.Abs(got-(65000.0/68-250)/0.0736) <= 1e-6) {
		t.Errorf("got %v m, want %v m", got, (65000.0/68-250)/0.0736)
	}
	if got := l.Rules(); len(got) != 1+len(maxima) {
		t.Errorf("got %d rules, want the product and %d maxima", len(got), len(maxima))
	}
	l.Devices = nil
	if got := l.Rules(); len(got) != len(maxima) {
		t.Errorf("got %d rules, want %d maxima", len(got), len(maxima))
	}
}

func TestRulesAreComplete(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := toneLoop(t)
		for i := range l.Cables {
			l.Cables[i].NFPerKM *= math.Pow(10, float64(rapid.IntRange(-320, 300).Draw(t, "decades")))
		}
		for _, r := range l.Rules() {
			if r.Name == "" || r.Formula == "" || r.Source == "" {
				t.Fatalf("got %+v, want a name, a formula and a source", r)
			}
			if !(r.MostM >= 0) || math.IsInf(r.MostM, 0) {
				t.Fatalf("%s: got %v m, want a number", r.Formula, r.MostM)
			}
			if strings.Contains(r.Formula, "NaN") || strings.Contains(r.Formula, "Inf") {
				t.Fatalf("got %s", r.Formula)
			}
		}
	})
}
