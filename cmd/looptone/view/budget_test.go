package view_test

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"looptone/cmd/looptone/view"
	"looptone/sim/loop"
)

// trap is 24 V, 250 ohm and n parked devices of 10.5 V without any cable. With 15 of
// them 60 mA leave 9.0 V.
func trap(n int) (*loop.Loop, []float64) {
	l := &loop.Loop{Supply: loop.Supply{V: 24, Ohm: 1}, ResistorOhm: 250, Host: loop.Host{V: 0.5, Ohm: 100}}
	parked := make([]float64, n)
	for i := range parked {
		parked[i] = 4
		l.Devices = append(l.Devices, loop.Device{Name: fmt.Sprintf("LT-%d", 401+i), Behind: loop.Source, LiftOffV: 10.5, ToneMA: 2})
	}
	return l, parked
}

// reckoned is a budget whose verdicts are given by hand.
func reckoned(l *loop.Loop, mA []float64, verdicts ...loop.Verdict) *loop.Budget {
	return &loop.Budget{Loop: l, Now: l.Settle(mA), Worst: l.Solve(mA), NeedV: l.NeedV(mA),
		Tones: l.Tones(), Rules: l.Rules(), Verdicts: verdicts}
}

// The answer stands at the top, and the numbers that it rests on right below it.
func TestBudgetAnswersFirst(t *testing.T) {
	l, parked := trap(15)
	holds := loop.Verdict{Limit: "loop resistance", Says: "250 ohm", Got: 250, Want: 230}
	unknown := loop.Verdict{Limit: "supply current", Finding: loop.Unknown, Says: "nobody knows"}
	broken := loop.Verdict{Limit: "lift-off voltage", Device: "LT-401", Finding: loop.Broken, Says: "too little"}
	tests := []struct {
		verdicts []loop.Verdict
		want     string
	}{
		{[]loop.Verdict{holds}, "It will work: all limits hold."},
		{[]loop.Verdict{holds, unknown, unknown}, "As far as is known it will work. Not known: supply current."},
		{[]loop.Verdict{unknown, broken, holds, broken}, "It will not work as it should. Broken: lift-off voltage."},
	}
	const facts = `
  loop      24 V supply, 250 ohm resistor, 15 devices, host across the resistor
  now       52 mA; 11.0 V at LT-401, which wants 10.5 V; dark: LT-414, LT-415
  at worst  60 mA, every device at its highest current; 9.0 V at LT-401, which wants 10.5 V
  supply    at least 25.5 V for the highest currents
  devices   at most 13 like LT-401, parked at 4 mA each
`
	for _, tt := range tests {
		got := view.Budget("Fifteen on a pair", reckoned(l, parked, tt.verdicts...))
		if want := "Fifteen on a pair\n\n" + tt.want + facts; !strings.HasPrefix(got, want) {
			t.Errorf("got\n%s\nwant it to begin with\n%s", got, want)
		}
	}
}

// What is broken comes before what is not known, and that before what holds. Devices
// of which the same is to be said are named in one sentence; of many sentences that
// differ in their numbers only, the first five are there, and who the others are.
func TestBudgetPutsTogetherWhatRepeats(t *testing.T) {
	l, parked := trap(15)
	var verdicts []loop.Verdict
	add := func(limit string, device int, f loop.Finding, got float64, says, mend string) {
		v := loop.Verdict{Limit: limit, Finding: f, Got: got, Want: 120, Says: says, Mend: mend}
		if device >= 0 {
			v.Device = l.Devices[device].Name
			v.Says = v.Device + " " + says
		}
		verdicts = append(verdicts, v)
	}
	add("tones", 0, loop.Holds, 300, "hears 300 mV", "")
	add("tones", 1, loop.Holds, 130, "hears 130 mV", "")
	add("loop resistance", -1, loop.Holds, 250, "The loop has 250 ohm", "")
	for i := range 15 {
		add("lift-off voltage", i, loop.Broken, 9, "has 9.0 V and wants 10.5 V", "take 25.5 V")
		if i != 3 && i != 4 {
			add("cable", i, loop.Broken, float64(i), fmt.Sprintf("lacks %d m", i), "shorten it")
		}
	}
	add("supply current", -1, loop.Unknown, math.NaN(), "What the supply can carry was not given", "")
	got := view.Budget("x", reckoned(l, parked, verdicts...))
	_, got, _ = strings.Cut(got, "\nbroken\n")
	got, _, _ = strings.Cut(got, "\nvolts")
	const want = `  lift-off voltage  LT-401 has 9.0 V and wants 10.5 V; the same for LT-402 to LT-415
                    To mend it: take 25.5 V
  cable             LT-401 lacks 0 m
                    LT-402 lacks 1 m
                    LT-403 lacks 2 m
                    LT-406 lacks 5 m
                    LT-407 lacks 6 m
                    … and 8 more cases: LT-408 to LT-415
                    To mend it: shorten it

not known
  supply current    What the supply can carry was not given

in order
  tones             LT-402 hears 130 mV (the closest of 2 cases)
  loop resistance   The loop has 250 ohm
`
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// Six sentences are all there; it is from the seventh on that some are left out.
func TestBudgetLeavesOutMoreThanOne(t *testing.T) {
	l, parked := trap(7)
	var verdicts []loop.Verdict
	for i, d := range l.Devices {
		verdicts = append(verdicts, loop.Verdict{Limit: "cable", Device: d.Name, Finding: loop.Broken, Says: fmt.Sprintf("lacks %d m", i)})
	}
	if got := view.Budget("x", reckoned(l, parked, verdicts[:6]...)); !strings.Contains(got, "lacks 5 m") || strings.Contains(got, "more cases") {
		t.Errorf("of six cases some are left out:\n%s", got)
	}
	if got := view.Budget("x", reckoned(l, parked, verdicts...)); strings.Contains(got, "lacks 5 m") || !strings.Contains(got, "… and 2 more cases: LT-406, LT-407\n") {
		t.Errorf("of seven cases not five are there:\n%s", got)
	}
}

// drawLoop is any loop, with the currents of its devices now and at worst.
func drawLoop(t *rapid.T) (l *loop.Loop, now, worst []float64) {
	number := func(name string, least, most int) float64 { // hundredths
		return float64(rapid.IntRange(100*least, 100*most).Draw(t, name)) / 100
	}
	l = &loop.Loop{
		Supply:      loop.Supply{V: number("supply", 1, 60), Ohm: number("impedance", 0, 10)},
		ResistorOhm: rapid.SampledFrom([]float64{0, 100, 250, 1200}).Draw(t, "resistor"),
		BarrierOhm:  rapid.SampledFrom([]float64{0, 280}).Draw(t, "barrier"),
		Host:        loop.Host{At: loop.Place(rapid.IntRange(0, 2).Draw(t, "place")), V: 0.5, Ohm: 100},
	}
	for i := range rapid.IntRange(0, 2).Draw(t, "instruments") {
		l.Series = append(l.Series, loop.Instrument{Name: fmt.Sprintf("indicator \"%d\"", i), Ohm: number("ohm", 0, 50)})
	}
	for i := range rapid.IntRange(0, 40).Draw(t, "cables") {
		l.Cables = append(l.Cables, loop.Cable{Name: fmt.Sprintf("segment %d", i), Behind: rapid.IntRange(loop.Source, i-1).Draw(t, "behind"),
			LengthM: number("length", 0, 900), OhmPerKM: number("ohm/km", 0, 90), NFPerKM: number("nF/km", 0, 400)})
	}
	for i := range rapid.IntRange(1, 20).Draw(t, "devices") {
		l.Devices = append(l.Devices, loop.Device{Name: fmt.Sprintf("D-%d", i), Behind: rapid.IntRange(loop.Source, len(l.Cables)-1).Draw(t, "hangs"),
			LiftOffV: rapid.SampledFrom([]float64{0, 9, 10.5, 12}).Draw(t, "lift-off"), InputNF: number("nF", 0, 50), ToneMA: 2,
			Reversed: rapid.IntRange(0, 9).Draw(t, "reversed") == 0})
		now = append(now, number("now", 3, 22))
		worst = append(worst, max(now[i], number("worst", 3, 25)))
	}
	l.Host.Device = rapid.IntRange(0, len(l.Devices)-1).Draw(t, "host")
	return l, now, worst
}

// Of any loop the text fits a terminal, has a line for each device that is dark and
// for each limit that is broken, and the cautions at its end; and the JSON has every
// number that the text is made of.
func TestBudgetOfAnyLoop(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, now, worst := drawLoop(t)
		b := l.Reckon(now, worst)
		checkBudgetText(t, view.Budget("Any line", b), b)
		checkBudgetObjects(t, view.AppendBudget(nil, "Any line", b), b)
	})
}

func checkBudgetText(t *rapid.T, text string, b *loop.Budget) {
	for line := range strings.Lines(text) {
		line = strings.TrimSuffix(line, "\n")
		if n := utf8.RuneCountInString(line); n > view.Width || strings.TrimRight(line, " ") != line {
			t.Fatalf("%d characters, or blanks at the end: %q", n, line)
		}
	}
	for _, wrong := range []string{"NaN", "Inf", "\x00", "%!"} {
		if strings.Contains(text, wrong) {
			t.Fatalf("%q in\n%s", wrong, text)
		}
	}
	words := strings.Join(strings.Fields(text), " ")
	for _, caution := range view.Cautions {
		if !strings.Contains(words, caution) {
			t.Fatalf("no %q in\n%s", caution, text)
		}
	}
	if strings.Contains(text, "\nbroken\n") == b.OK() {
		t.Fatalf("OK is %v, but:\n%s", b.OK(), text)
	}
	for i := range b.Verdicts {
		if v := &b.Verdicts[i]; v.Finding == loop.Broken && !mended(words, v, b.Loop) {
			t.Fatalf("no %q in\n%s", v.Mend, text)
		}
	}
}

// mended reports whether the text says how to mend what is broken, of this device or of
// one that is mended alike.
func mended(words string, v *loop.Verdict, l *loop.Loop) bool {
	return strings.Contains(words, v.Mend) || slices.ContainsFunc(l.Devices, func(d loop.Device) bool {
		return strings.Contains(words, strings.ReplaceAll(v.Mend, v.Device, d.Name))
	})
}

func checkBudgetObjects(t *rapid.T, lines []byte, b *loop.Budget) {
	kinds := map[string][]map[string]any{}
	for line := range strings.Lines(string(lines)) {
		var o map[string]any
		if err := json.Unmarshal([]byte(line), &o); err != nil {
			t.Fatalf("%v: %s", err, line)
		}
		kind, _, _ := strings.Cut(strings.TrimPrefix(line, `{"`), `"`)
		kinds[kind] = append(kinds[kind], o)
	}
	for kind, want := range map[string]int{"line": 1, "cable": len(b.Loop.Cables), "device": len(b.Loop.Devices),
		"rule": len(b.Rules), "limit": len(b.Verdicts), "assumed": 1} {
		if got := len(kinds[kind]); got != want {
			t.Fatalf("%d objects of the kind %s, want %d", got, kind, want)
		}
	}
	if line := kinds["line"][0]; line["in_order"] != b.OK() || !near(line["worst_sum_ma"], b.Worst.SumMA) || !near(line["sum_ma"], b.Now.SumMA) {
		t.Fatalf("the line is %v, want %v mA and %v mA, %v", line, b.Now.SumMA, b.Worst.SumMA, b.OK())
	}
	for i, o := range kinds["device"] {
		if !near(o["volts"], b.Now.Devices[i].V) || !near(o["worst_volts"], b.Worst.Devices[i].V) || !near(o["hears_v"], b.Tones.Level(loop.TheHost, i)) ||
			(o["dark"] == nil) != (b.Now.Devices[i].Dark == loop.Lit) || (o["lift_off_v"] == nil) != (b.Loop.Devices[i].LiftOffV == 0) {
			t.Fatalf("device %d is %v, want %v", i, o, b.Now.Devices[i])
		}
	}
	for i, o := range kinds["limit"] {
		if v := &b.Verdicts[i]; o["says"] != v.Says || !near(o["got"], v.Got) || !near(o["want"], v.Want) {
			t.Fatalf("verdict %d is %v, want %v", i, o, v)
		}
	}
	if cautions := kinds["assumed"][0]["cautions"].([]any); len(cautions) != len(view.Cautions) {
		t.Fatalf("%d cautions, want %d", len(cautions), len(view.Cautions))
	}
}

// near reports whether a number of JSON is x to a millionth; null is no number.
func near(got any, x float64) bool {
	f, ok := got.(float64)
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return got == nil
	}
	return ok && math.Abs(f-x) <= 0.6e-6+1e-12*math.Abs(x)
}

// What is not known is null, which no number is.
func TestBudgetObjectOfWhatIsNotKnown(t *testing.T) {
	l, parked := trap(1)
	l.Devices[0].LiftOffV = 0
	l.Host = loop.Host{At: loop.AcrossDevice}
	b := reckoned(l, parked, loop.Verdict{Limit: "lift-off voltage", Device: "LT-401", Finding: loop.Unknown,
		Got: math.NaN(), Want: math.NaN(), Says: `says "so"`})
	got := strings.Split(string(view.AppendBudget(nil, "x", b)), "\n")
	for _, want := range []string{
		`"supply_ma":null,`, `"host_at":"LT-401",`, `"need_v":null,"most_devices":null,"most_like":null}`, `"lift_off_v":null,`,
		`{"limit":"lift-off voltage","device":"LT-401","finding":"unknown","got":null,"want":null,"unit":null,"says":"says \"so\"","mend":null}`,
	} {
		if !slices.ContainsFunc(got, func(line string) bool { return strings.Contains(line, want) }) {
			t.Errorf("no %s in\n%s", want, strings.Join(got, "\n"))
		}
	}
}
