package loop

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// pair is two devices at the source, in order in every way.
func pair() *condition {
	l, parked := multidrop(2, 12)
	l.Supply.MostMA = 100
	l.Host = Host{V: 0.5, Ohm: 100}
	return &condition{Loop: *l, now: parked, worst: []float64{21.5, 21.5}}
}

// cabled is 2400 m of cable in one piece before the devices.
func cabled(nFPerKM float64) *condition {
	c := pair()
	c.Cables = []Cable{{Name: "trunk", Behind: Source, LengthM: 2400, OhmPerKM: 36, NFPerKM: nFPerKM}}
	c.Devices[0].Behind, c.Devices[1].Behind = 0, 0
	return c
}

// TestVerdicts breaks one limit after the other. The numbers are worked out by hand.
//
// Source: Ohm's law by hand; the limits at their constants.
func TestVerdicts(t *testing.T) {
	nan := math.NaN()
	tests := []struct {
		name  string
		c     *condition
		spoil func(c *condition)
		want  Verdict
	}{
		{"enough", pair(), func(c *condition) {},
			// 24 V − 250 ohm · 8 mA, · 43 mA
			Verdict{"lift-off voltage", "FT-101", Holds, 13.25, 12, "V",
				"FT-101 has 22.0 V across it, and 13.3 V if all drew their most, 43 mA together; it wants 12.0 V", ""}},
		{"too little at most", pair(), func(c *condition) { c.Supply.V = 22.73 },
			Verdict{"lift-off voltage", "FT-102", Broken, 11.98, 12, "V",
				"FT-102 has 20.7 V across it, but only 11.98 V if all drew their most, 43 mA together; it wants 12.0 V",
				"a supply of at least 22.8 V; or all devices parked at 4 mA; or a resistor of at most 249 ohm"}},
		{"dark", pair(), func(c *condition) { c.Supply.V = 11; c.worst = c.now },
			Verdict{"lift-off voltage", "FT-102", Broken, 9, 12, "V",
				"FT-102 is dark: 9.0 V left for it, it wants 12.0 V",
				"a supply of at least 14.0 V"}},
		{"dark, and worse at most", pair(), func(c *condition) { c.Supply.V = 11.5; c.worst = []float64{8, 8} },
			// 11.5 V − 250 ohm · 8 mA, · 16 mA
			Verdict{"lift-off voltage", "FT-102", Broken, 7.5, 12, "V",
				"FT-102 is dark: 9.5 V left for it, and 7.5 V if all drew their most, 16 mA together; it wants 12.0 V",
				"a supply of at least 16.0 V"}},
		{"nothing left", pair(), func(c *condition) { c.Series = []Instrument{{"indicator", 600}} },
			// 24 V − 850 ohm · 43 mA; parked 24 V − 850 ohm · 8 mA = 17.2 V; without it as above
			Verdict{"lift-off voltage", "FT-101", Broken, -12.55, 12, "V",
				"FT-101 has 17.2 V across it, but none if all drew their most, 43 mA together; it wants 12.0 V",
				"all devices parked at 4 mA; or indicator (600 ohm) taken out of the loop"}},
		{"hardly enough now, and hardly too little at most", pair(), func(c *condition) { c.Supply.V = 14.02; c.worst = []float64{4, 4.16} },
			Verdict{"lift-off voltage", "FT-102", Broken, 11.98, 12, "V",
				"FT-102 has 12.02 V across it, but only 11.98 V if all drew their most, 8.2 mA together; it wants 12.0 V",
				"a supply of at least 14.1 V; or all devices parked at 4 mA; or a resistor of at most 247 ohm"}},
		{"too little beside a reversed one", pair(), func(c *condition) {
			c.Supply.V, c.worst = 12.9, c.now
			c.Devices[0].Reversed, c.Devices[0].LiftOffV = true, 20
		},
			Verdict{"lift-off voltage", "FT-102", Broken, 11.9, 12, "V",
				"FT-102 is dark: 11.9 V left for it, it wants 12.0 V", "a supply of at least 13.0 V"}},
		{"dark, and nothing left at most", pair(), func(c *condition) { c.Supply.V = 11.5; c.worst = []float64{25, 25} },
			// 11.5 V − 250 ohm · 8 mA, · 50 mA; 50 mA · 250 ohm + 12 V
			Verdict{"lift-off voltage", "FT-102", Broken, -1, 12, "V",
				"FT-102 is dark: 9.5 V left for it, but none if all drew their most, 50 mA together; it wants 12.0 V",
				"a supply of at least 24.5 V"}},
		{"dark, and nothing left", pair(), func(c *condition) { c.Supply.V = 1; c.worst = c.now },
			Verdict{"lift-off voltage", "FT-102", Broken, -1, 12, "V",
				"FT-102 is dark: no voltage left for it, it wants 12.0 V", "a supply of at least 14.0 V"}},
		{"not known, and nothing left now", pair(), func(c *condition) {
			c.Devices[0].LiftOffV, c.Devices[1].LiftOffV, c.Supply.V, c.worst = 0, 0, 1, c.now
		},
			Verdict{"lift-off voltage", "FT-102", Broken, -1, nan, "V",
				"FT-102 has no voltage across it, its lift-off voltage is not known",
				"a supply of at least 2.0 V"}},
		{"barrier before the devices", pair(), func(c *condition) { c.BarrierOhm, c.worst = 280, c.now; c.Supply.V = 16 },
			// 12 V + 530 ohm · 8 mA = 16.24 V; 4 V / (530 ohm · 4 mA) = 1.9; 4 V / 8 mA = 500 ohm
			Verdict{"lift-off voltage", "FT-102", Broken, 11.76, 12, "V",
				"FT-102 is dark: 11.8 V left for it, it wants 12.0 V",
				"a supply of at least 16.3 V, if the barrier allows it; or one device only, parked at 4 mA; or a barrier of at most 250 ohm"}},
		{"not known, and nothing left with a resistor", pair(), func(c *condition) {
			c.Devices[0].LiftOffV, c.Devices[1].LiftOffV, c.Supply.V, c.ResistorOhm = 0, 0, 10, 0
		},
			// 43 mA · 250 ohm = 10.75 V
			Verdict{"loop resistance", "", Broken, 0, 230, "ohm",
				"there is no resistor to hear the tones across, at least 230 ohm are wanted",
				"a resistor of 250 ohm with a supply of at least 10.8 V"}},
		{"no resistor, and more current than any supply can feed", pair(), func(c *condition) {
			c.ResistorOhm = 0
			c.worst = []float64{100, 100}
		},
			// 200 mA · 250 ohm + 12 V = 62 V
			Verdict{"loop resistance", "", Broken, 0, 230, "ohm",
				"there is no resistor to hear the tones across, at least 230 ohm are wanted",
				"a resistor of 250 ohm (but then even 42 V are not enough for all devices)"}},
		{"not known", pair(), func(c *condition) { c.Devices[1].LiftOffV = 0; c.worst = c.now },
			Verdict{"lift-off voltage", "FT-102", Unknown, 22, nan, "V",
				"FT-102 has 22.0 V across it, its lift-off voltage is not known", ""}},
		{"not known, and nothing left", pair(), func(c *condition) { c.Devices[1].LiftOffV = 0; c.Supply.V = 10 },
			Verdict{"lift-off voltage", "FT-102", Broken, -0.75, nan, "V",
				"FT-102 has 9.0 V across it, but none if all drew their most, 43 mA together; its lift-off voltage is not known",
				"a supply of at least 22.8 V"}},
		{"thin cable", cabled(10), func(c *condition) { c.Devices[0].LiftOffV, c.Devices[1].LiftOffV = 8, 8 },
			// 2400 m · 72 ohm/km = 172.8 ohm, of which 24 V − 8 V − 10.75 V at 43 mA leave 122.09:
			// 50.8 ohm/km, 1695 m; with all 43 mA 26.18 V
			Verdict{"lift-off voltage", "FT-101", Broken, 5.8196, 8, "V",
				"FT-101 has 20.6 V across it, but only 5.8 V if all drew their most, 43 mA together; it wants 8.0 V",
				"a supply of at least 26.2 V; or all devices parked at 4 mA; or cable of at most 25.4 ohm per km of one core (18 AWG); or at most 1695 m of cable in all"}},
		{"reversed", pair(), func(c *condition) { c.Devices[1].Reversed = true; c.Supply.V = 22 },
			Verdict{"polarity", "FT-102", Broken, nan, nan, "",
				"FT-102 is dark: its leads are swapped, it draws nothing",
				"the two leads of FT-102 swapped with a supply of at least 22.8 V"}},
		{"none reversed", pair(), func(c *condition) {},
			Verdict{"polarity", "", Holds, nan, nan, "", "no device has its leads swapped", ""}},
		{"resistance", pair(), func(c *condition) {},
			Verdict{"loop resistance", "", Holds, 250, 230, "ohm", "250 ohm, 230 to 1100 ohm are allowed", ""}},
		{"no resistor", pair(), func(c *condition) { c.ResistorOhm = 0; c.Supply.V = 14 },
			Verdict{"loop resistance", "", Broken, 0, 230, "ohm",
				"there is no resistor to hear the tones across, at least 230 ohm are wanted",
				"a resistor of 250 ohm with a supply of at least 22.8 V"}},
		{"too small a resistor", pair(), func(c *condition) { c.ResistorOhm = 229.8; c.BarrierOhm = 100 },
			Verdict{"loop resistance", "", Broken, 229.8, 230, "ohm",
				"229.8 ohm are there to hear the tones across, at least 230 ohm are wanted",
				"a resistor of 250 ohm with a supply of at least 27.1 V, if the barrier allows it"}},
		{"small resistor, host across a device", pair(), func(c *condition) {
			c.ResistorOhm, c.BarrierOhm, c.Host.At = 100, 200, AcrossDevice
		},
			Verdict{"loop resistance", "", Holds, 300, 230, "ohm", "300 ohm, 230 to 1100 ohm are allowed", ""}},
		{"barrier", pair(), func(c *condition) { c.BarrierOhm = 900 },
			Verdict{"loop resistance", "", Broken, 1150, 1100, "ohm",
				"1150 ohm are in the loop, at most 1100 ohm are allowed", "a barrier of at most 850 ohm"}},
		{"host across a device behind cable", cabled(100), func(c *condition) { c.ResistorOhm, c.Host.At = 100, AcrossDevice },
			// 100 ohm + 2400 m · 72 ohm/km
			Verdict{"loop resistance", "", Holds, 272.8, 230, "ohm", "273 ohm, 230 to 1100 ohm are allowed", ""}},
		{"no resistor, host across a device", pair(), func(c *condition) { c.ResistorOhm, c.Host.At = 0, AcrossDevice },
			// 0.7 V behind 100 ohm, across 1 ohm
			Verdict{"tones", "FT-101", Broken, 6.9307, 120, "mV",
				"7 mV of the host's tones reach FT-101: not heard, at least 120 mV are wanted", "a resistor of 250 ohm"}},
		{"big resistor", pair(), func(c *condition) { c.ResistorOhm, c.BarrierOhm = 900, 100 },
			Verdict{"loop resistance", "", Holds, 1000, 1100, "ohm",
				"900 ohm to hear the tones across, 1000 ohm in the whole loop; 230 to 1100 ohm are allowed", ""}},
		{"host across the resistor", pair(), func(c *condition) {},
			Verdict{"host", "", Holds, nan, nan, "", "the host is clipped across the resistor", ""}},
		{"host across the supply", pair(), func(c *condition) { c.Host.At = AcrossSupply },
			Verdict{"host", "", Broken, 1, 230, "ohm",
				"the host is clipped across the supply, which has 1 ohm for the tones; at least 230 ohm are wanted",
				"the host clipped across the resistor; or the host clipped across a device"}},
		{"host across the supply, no resistor", pair(), func(c *condition) { c.Host.At, c.ResistorOhm = AcrossSupply, 0 },
			Verdict{"host", "", Broken, 1, 230, "ohm",
				"the host is clipped across the supply, which has 1 ohm for the tones; at least 230 ohm are wanted",
				"a resistor of 250 ohm, and the host clipped across it"}},
		{"supply", pair(), func(c *condition) {},
			Verdict{"supply current", "", Holds, 43, 100, "mA", "43 mA are drawn at most, the supply carries 100 mA", ""}},
		{"supply too weak already now", pair(), func(c *condition) { c.Supply.MostMA, c.worst = 7, []float64{3.5, 3.5}; c.now = []float64{4, 4} },
			Verdict{"supply current", "", Broken, 8, 7, "mA", "8 mA are drawn at most, the supply carries only 7 mA",
				"a supply that carries at least 8 mA; or one device only, parked at 4 mA"}},
		{"supply in tenths", pair(), func(c *condition) { c.worst[0] = 20 },
			Verdict{"supply current", "", Holds, 41.5, 100, "mA", "41.5 mA are drawn at most, the supply carries 100 mA", ""}},
		{"barely enough", pair(), func(c *condition) { c.Supply.V = 22.77 },
			Verdict{"lift-off voltage", "FT-101", Holds, 12.02, 12, "V",
				"FT-101 has 20.8 V across it, and 12.02 V if all drew their most, 43 mA together; it wants 12.0 V", ""}},
		{"supply not known", pair(), func(c *condition) { c.Supply.MostMA = 0 },
			Verdict{"supply current", "", Unknown, 43, nan, "mA",
				"43 mA are drawn at most; what the supply can carry is not known", ""}},
		{"weak supply", pair(), func(c *condition) { c.Supply.MostMA = 7.5; c.worst = c.now },
			Verdict{"supply current", "", Broken, 8, 7.5, "mA",
				"8.0 mA are drawn at most, the supply carries only 7.5 mA",
				"a supply that carries at least 8 mA; or one device only, parked at 4 mA"}},
		{"supply too weak for the most", pair(), func(c *condition) { c.Supply.MostMA = 20 },
			Verdict{"supply current", "", Broken, 43, 20, "mA",
				"43 mA are drawn at most, the supply carries only 20 mA",
				"a supply that carries at least 43 mA; or all devices parked at 4 mA"}},
		{"no cable", pair(), func(c *condition) {},
			// 250 ohm · 10 nF
			Verdict{"cable", "", Holds, 2.5, 65, "µs", "R·C is 3 µs, at most 65 µs are allowed", ""}},
		{"capacitance without cable", pair(), func(c *condition) { c.Devices[0].InputNF = 270 },
			// 250 ohm · 275 nF; 65 µs / 275 nF = 236.4 ohm
			Verdict{"cable", "", Broken, 68.75, 65, "µs", "R·C is 69 µs, at most 65 µs are allowed", "a resistor of at most 236 ohm"}},
		{"long cable", cabled(100), func(c *condition) {},
			// (250 + 0.072 L)·(10 + 0.1 L) = 65 000 gives L = 1659.3; with L = 2400 the cable may
			// have (65 000/422.8 − 10)/2.4 = 59.9 nF/km, which no cable has; a resistor of
			// 65 000/250 − 172.8 = 87.2 ohm is too small
			Verdict{"cable", "", Broken, 2400, 1659.284, "m",
				"2400 m of cable, R·C below 65 µs allows 1659 m", "at most 1659 m of cable in all"}},
		{"cable between the metres", cabled(100), func(c *condition) { c.Cables[0].LengthM = 1659.2 },
			Verdict{"cable", "", Holds, 1659.2, 1659.284, "m", "1659.2 m of cable, R·C below 65 µs allows 1659.284 m", ""}},
		{"cable too long by less than a metre", cabled(100), func(c *condition) { c.Cables[0].LengthM = 1659.5 },
			Verdict{"cable", "", Broken, 1659.5, 1659.284, "m", "1660 m of cable, R·C below 65 µs allows 1659 m",
				"a resistor of at most 249 ohm; or at most 1659 m of cable in all; or cable of at most 99 nF per km; or cable of at most 35.9 ohm per km of one core (20 AWG)"}},
		{"cable without length", cabled(100), func(c *condition) { c.Cables[0].LengthM, c.Devices[0].InputNF = 0, 295 },
			// 250 ohm · 300 nF; 65 µs / 300 nF = 216.7 ohm
			Verdict{"cable", "", Broken, 75, 65, "µs", "R·C is 75 µs, at most 65 µs are allowed", together}},
		{"cable of hardly any capacitance", cabled(1e-15), func(c *condition) {
			c.Cables[0].OhmPerKM, c.Devices[0].InputNF, c.Devices[1].InputNF = 0, 0, 0
		},
			// 65 000 / 250 / 1e-18
			Verdict{"cable", "", Holds, 2400, 2.6e20, "m", "2400 m of cable, R·C below 65 µs allows more than 100 km", ""}},
		{"capacitance that leaves room for no cable", cabled(100), func(c *condition) { c.Devices[0].InputNF = 295 },
			Verdict{"cable", "", Broken, 2400, 0, "m", "2400 m of cable, R·C below 65 µs allows none", together}},
		{"heavy cable", cabled(150), func(c *condition) { c.Cables[0].LengthM = 1500; c.ResistorOhm = 270 },
			// (270 + 0.072 L)·(10 + 0.15 L) = 65 000 gives L = 1159.3; (65 000/378 − 10)/1.5 = 107.97
			Verdict{"cable", "", Broken, 1500, 1159.28, "m",
				"1500 m of cable, R·C below 65 µs allows 1159 m",
				"at most 1159 m of cable in all; or cable of at most 107 nF per km"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.spoil(tt.c)
			got := same(tt.c.Reckon(tt.c.now, tt.c.worst).Verdicts, tt.want, 0)
			if got == nil {
				t.Fatalf("there is no verdict on %s of %q", tt.want.Limit, tt.want.Device)
			}
			if !near(got.Got, tt.want.Got) || !near(got.Want, tt.want.Want) {
				t.Errorf("got %v against %v, want %v against %v", got.Got, got.Want, tt.want.Got, tt.want.Want)
			}
			got.Got, got.Want, tt.want.Got, tt.want.Want = 0, 0, 0, 0
			if *got != tt.want {
				t.Errorf("got\n%+v\nwant\n%+v", *got, tt.want)
			}
		})
	}
}

// near compares to five digits; not a number is like itself.
func near(a, b float64) bool {
	return math.IsNaN(a) && math.IsNaN(b) || math.Abs(a-b) <= 2e-5*max(math.Abs(a), math.Abs(b))
}

// TestVerdictsOnTones: levels are those of Tones, and the words those of the thresholds.
func TestVerdictsOnTones(t *testing.T) {
	tests := []struct {
		hostV   float64
		finding Finding
		says    string
		mend    string
	}{
		{0.5, Holds, `^\d+ mV of the host's tones reach FT-101: heard, at least 120 mV are wanted$`, ""},
		{0.1, Broken, `^100 mV of the host's tones reach FT-101: heard by chance, at least 120 mV are wanted$`,
			"a host that gives at least 0.13 V of tones across 250 ohm"},
		{0.05, Broken, `^50 mV of the host's tones reach FT-101: not heard, at least 120 mV are wanted$`,
			"a host that gives at least 0.13 V of tones across 250 ohm"},
	}
	for _, tt := range tests {
		c := pair()
		c.Host.V = tt.hostV
		b := c.Reckon(c.now, c.worst)
		v := same(b.Verdicts, Verdict{Limit: "tones", Device: "FT-101"}, 0)
		if v.Finding != tt.finding || !regexp.MustCompile(tt.says).MatchString(v.Says) || v.Mend != tt.mend {
			t.Errorf("host of %v V: %+v, want %v, %s, %s", tt.hostV, *v, tt.finding, tt.says, tt.mend)
		}
		if want := b.Tones.Level(TheHost, 0) * 1000; v.Got != want || v.Want != 120 || v.Unit != "mV" {
			t.Errorf("host of %v V: %v %s against %v, want %v mV against 120", tt.hostV, v.Got, v.Unit, v.Want, want)
		}
	}

	c := pair()
	c.Devices[0].ToneMA, c.Devices[1].ToneMA = 0, 0.3
	b := c.Reckon(c.now, c.worst)
	for _, tt := range []struct{ device, says, mend string }{
		{"FT-101", "0 mV of the tones of FT-101 reach the host: not heard, at least 120 mV are wanted", together},
		{"FT-102", "75 mV of the tones of FT-102 reach the host: not heard, at least 120 mV are wanted",
			"FT-102 that gives at least 0.13 V of tones across 250 ohm"},
	} {
		if v := same(b.Verdicts, Verdict{Limit: "tones", Device: tt.device}, 1); v.Says != tt.says || v.Mend != tt.mend {
			t.Errorf("got %q, %q, want %q, %q", v.Says, v.Mend, tt.says, tt.mend)
		}
	}
}

// TestVerdictsOnTonesOfTheDark: who is dark neither hears nor talks.
func TestVerdictsOnTonesOfTheDark(t *testing.T) {
	for _, spoil := range []func(c *condition){
		func(c *condition) { c.Supply.V, c.worst = 13, c.now },
		func(c *condition) { c.Devices[1].Reversed = true },
	} {
		c := pair()
		c.Devices[0].InputNF, c.Devices[1].InputNF = 0, 0
		spoil(c)
		b := c.Reckon(c.now, c.worst)
		for _, tt := range []struct {
			device string
			nth    int
			says   string
		}{
			{"FT-101", 0, "500 mV of the host's tones reach FT-101: heard, at least 120 mV are wanted"},
			{"FT-101", 1, "500 mV of the tones of FT-101 reach the host: heard, at least 120 mV are wanted"},
			{"FT-102", 0, "500 mV of the host's tones would reach FT-102: heard, at least 120 mV are wanted; but it is dark"},
			{"FT-102", 1, "500 mV of the tones of FT-102 would reach the host: heard, at least 120 mV are wanted; but it is dark"},
		} {
			if v := same(b.Verdicts, Verdict{Limit: "tones", Device: tt.device}, tt.nth); v.Says != tt.says {
				t.Errorf("got %q, want %q", v.Says, tt.says)
			}
		}
	}
}

// TestSwappedHostChangesNothing but for a verdict that says so.
func TestSwappedHostChangesNothing(t *testing.T) {
	c := pair()
	before := c.Reckon(c.now, c.worst)
	c.Host.Swapped = true
	after := c.Reckon(c.now, c.worst)
	i := slices.IndexFunc(after.Verdicts, func(v Verdict) bool { return strings.Contains(v.Says, "leads of the host") })
	if i < 0 || after.Verdicts[i].Finding != Holds {
		t.Fatalf("nothing is said of the leads: %+v", after.Verdicts)
	}
	rest := slices.Delete(slices.Clone(after.Verdicts), i, i+1)
	if got, want := fmt.Sprint(rest), fmt.Sprint(before.Verdicts); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// TestVerdictsOfRandomLoops: sentences have words and numbers in them that are some, a
// verdict for every device and limit, and OK says whether one is broken.
func TestVerdictsOfRandomLoops(t *testing.T) {
	odd := regexp.MustCompile(`NaN|Inf|%!|-0\b|-\d|\d{7}`)
	rapid.Check(t, func(t *rapid.T) {
		c := drawCondition(t)
		b := c.Reckon(c.now, c.worst)
		count, anyBroken := map[string]int{}, false
		for _, v := range b.Verdicts {
			count[v.Limit]++
			anyBroken = anyBroken || v.Finding == Broken
			text := strings.ReplaceAll(v.Says+v.Mend, "FT-", "")
			if odd.MatchString(text) || v.Says == "" || strings.HasSuffix(v.Says, ".") {
				t.Fatalf("%+v", v)
			}
			if v.Finding == Holds && !math.IsNaN(v.Got) != !math.IsNaN(v.Want) || math.IsNaN(v.Got) != (v.Unit == "") {
				t.Fatalf("a number without its like: %+v", v)
			}
		}
		reversed := 0
		for _, d := range c.Devices {
			if d.Reversed {
				reversed++
			}
		}
		n := len(c.Devices)
		for limit, want := range map[string]int{"lift-off voltage": n - reversed, "polarity": max(reversed, 1), "loop resistance": 1, "supply current": 1, "cable": 1, "tones": 2 * n} {
			if count[limit] != want {
				t.Fatalf("%d verdicts on %s, want %d", count[limit], limit, want)
			}
		}
		if b.OK() == anyBroken {
			t.Fatalf("OK is %v, one is broken: %v", b.OK(), anyBroken)
		}
	})
}

// TestReckonLeavesTheLoopAlone: mends are tried on copies.
func TestReckonLeavesTheLoopAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCondition(t)
		before := fmt.Sprintf("%+v", *c)
		c.Reckon(c.now[:len(c.now):cap(c.now)], c.worst)
		if after := fmt.Sprintf("%+v", *c); after != before {
			t.Fatalf("before %s\nafter %s", before, after)
		}
	})
}

// TestReckonOfAnEmptyLoop: a supply and nothing on it.
func TestReckonOfAnEmptyLoop(t *testing.T) {
	l := &Loop{Supply: Supply{V: 24, Ohm: 1, MostMA: 100}, ResistorOhm: 250, Host: Host{V: 0.5, Ohm: 100}}
	if b := l.Reckon(nil, nil); !b.OK() || b.NeedV != 0 || b.Now.SourceV != 24 {
		t.Errorf("%+v", b)
	}
}
