package view_test

import (
	"fmt"
	"math"
	"slices"
	"strconv"
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
  loop      24 V supply, 250 ohm resistor, 15 devices
  now       52 mA; 11.0 V at LT-401, which wants 10.5 V; dark: LT-414, LT-415
  at worst  60 mA, all at their highest current; 9.0 V at LT-401, which wants 10.5 V
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

// 64 devices, 63 of them parked and one that may draw 21.5 mA, want 273.5 mA, which is
// 68.4 V across 250 ohm. Of 60 V nothing is left; a voltage below zero is no voltage.
func TestBudgetWhereNothingIsLeft(t *testing.T) {
	l, now := trap(64)
	l.Supply.V = 60
	worst := slices.Clone(now)
	worst[0] = 21.5
	got := view.Budget("x", l.Reckon(now, worst))
	for _, want := range []string{
		"\n  at worst  273.5 mA, all at their highest current; nothing left at LT-401, which wants 10.5 V\n",
		"\n  supply    at least 78.9 V for the highest currents\n",
		"\n  resistor      11.00      none\n",
		"\n  LT-402 to LT-449      11.00      none     10.50",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
}

// A device whose leads are swapped asks for no voltage, hears nothing, and is not heard.
func TestBudgetOfAReversedDevice(t *testing.T) {
	l, parked := trap(1)
	l.Devices[0].Reversed = true
	b := l.Reckon(parked, parked)
	got := view.Budget("x", b)
	if want := "\n  LT-401    reversed     24.00     10.50    0.00      0.00         -         -\n"; !strings.Contains(got, want) {
		t.Errorf("no %q in\n%s", want, got)
	}
	if strings.Contains(got, "for the highest currents") {
		t.Errorf("a voltage is wanted of the supply:\n%s", got)
	}
	if got := string(view.AppendBudget(nil, "x", b)); !strings.Contains(got, `"need_v":null,"most_devices":13,"most_like":"LT-401"}`) {
		t.Errorf("a voltage is wanted of the supply:\n%s", got)
	}
}

// One device alone is too much where 12 V are wanted of 24 V behind 4000 ohm: 4 mA take
// 16 V.
func TestBudgetWithoutRoom(t *testing.T) {
	l, parked := trap(1)
	l.ResistorOhm, l.Devices[0].LiftOffV = 4000, 12
	got := view.Budget("x", l.Reckon(parked, parked))
	if want := "\n  devices   none like LT-401, even parked at 4 mA\n"; !strings.Contains(got, want) {
		t.Errorf("no %q in\n%s", want, got)
	}
}

// The voltage behind the last instrument is that of the device right behind it, also
// where it is half way between two hundredths: 24 V less 21.5 mA times 890 ohm.
func TestBudgetAddsUp(t *testing.T) {
	l, _ := trap(1)
	l.BarrierOhm = 340
	l.Series = []loop.Instrument{{Name: "indicator", Ohm: 50}, {Name: "controller", Ohm: 250}}
	got := view.Budget("x", l.Reckon([]float64{8}, []float64{21.5}))
	row := func(name string) []string {
		_, row, _ := strings.Cut(got, "\n  "+name+" ")
		return slices.Concat(strings.Fields(row), []string{"", ""})[:2]
	}
	if got, want := row("controller"), row("LT-401"); !slices.Equal(got, want) || want[0] != "16.88" {
		t.Errorf("behind the controller %v, at the device %v, want 16.88 and the same", got, want)
	}
}

// A tag that is a number is not mistaken for one: devices 1 to 8 behind 250 ohm, of 18.5
// V each, lack the same.
func TestBudgetOfNumberedDevices(t *testing.T) {
	l, parked := trap(8)
	for i := range l.Devices {
		l.Devices[i].Name, l.Devices[i].LiftOffV = strconv.Itoa(1+i), 18.5
	}
	got := view.Budget("x", l.Reckon(parked, parked))
	words := strings.Join(strings.Fields(got), " ")
	if want := "it wants 18.5 V; the same for 2 to 5"; !strings.Contains(words, want) {
		t.Errorf("no %q in\n%s", want, got)
	}

	a := loop.Verdict{Limit: "tones", Device: "1", Finding: loop.Broken, Says: "1 hears 1.5 mV"}
	b := loop.Verdict{Limit: "tones", Device: "2", Finding: loop.Broken, Says: "2 hears 2.5 mV"}
	if got := view.Budget("x", reckoned(l, parked, a, b)); !strings.Contains(got, "2 hears 2.5 mV\n") {
		t.Errorf("no 2.5 mV in\n%s", got)
	}
}

// What would mend each device alone is said once, and for whom else it goes.
func TestBudgetMendsEachDevice(t *testing.T) {
	l, parked := trap(4)
	for i := range l.Devices[:3] {
		l.Devices[i].Reversed = true
	}
	got := view.Budget("x", l.Reckon(parked, parked))
	const want = "\n                    To mend it: the two leads of LT-401 swapped; the same for LT-402, LT-403\n"
	if strings.Count(got, "To mend it") != 1 || !strings.Contains(got, want) {
		t.Errorf("no %q, or more, in\n%s", want, got)
	}
}

// There are no more than 64 polling addresses; 64 parked devices draw 256 mA, which is
// 64 V across 250 ohm.
func TestBudgetOfRoomForAll(t *testing.T) {
	l, parked := trap(1)
	l.Supply.V = 64 + 10.5
	got := view.Budget("x", l.Reckon(parked, parked))
	if want := "\n  devices   as many like LT-401 as there are polling addresses, 64, parked at 4 mA each\n"; !strings.Contains(got, want) {
		t.Errorf("no %q in\n%s", want, got)
	}
}

// Who has least to spare is one whose lift-off voltage is known, wherever it stands.
func TestBudgetTightestIsKnown(t *testing.T) {
	for unknown := range 2 {
		l, parked := trap(2)
		l.Devices[unknown].LiftOffV = 0
		got := view.Budget("x", l.Reckon(parked, parked))
		if want := fmt.Sprintf("\n  now       8 mA; 22.0 V at %s, which wants 10.5 V\n", l.Devices[1-unknown].Name); !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
}

// Of a hundred segments two dozen are shown, and how many more there are.
func TestBudgetOfManySegments(t *testing.T) {
	l, parked := trap(1)
	for i := range 100 {
		l.Cables = append(l.Cables, loop.Cable{Name: fmt.Sprintf("segment %d", 1+i), Behind: i - 1, LengthM: 1, OhmPerKM: 20})
	}
	got := view.Budget("x", l.Reckon(parked, parked))
	if !strings.Contains(got, "\n  segment 24 ") || strings.Contains(got, "segment 25") || !strings.Contains(got, "\n  … and 76 more segments of cable\n") {
		t.Errorf("not 24 segments of 100:\n%s", got)
	}
}

// Of what holds without a number nothing is left out: leads of a host that are swapped
// are worth a word.
func TestBudgetSaysAllThatHoldsWithoutNumbers(t *testing.T) {
	l, parked := trap(2)
	l.Host.Swapped = true
	got := view.Budget("x", l.Reckon(parked, parked))
	const want = `
  host              the host is clipped across the resistor
                    the leads of the host are swapped; that changes nothing, tones alternate
`
	if !strings.Contains(got, want) {
		t.Errorf("no %s in\n%s", want, got)
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
	for _, wrong := range []string{"NaN", "Inf", "\x00", "%!", " -0"} {
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
