package linefile_test

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"looptone/sim/linefile"
	"looptone/sim/loop"
)

// near compares what was reckoned with what was written down.
var near = cmpopts.EquateApprox(0, 1e-6)

// Cables come in an order in which each stands behind an earlier one.
//
// Source: NBS Handbook 100, Copper Wire Tables (1966), from memory (18 AWG: 6.385 ohm
// per 1000 ft, which are 20.95 ohm/km); Mettler-Toledo Cond 7100e HART command
// specification (2004) (capacitance number 2 is 2 times 5000 pF).
func TestLoop(t *testing.T) {
	got := parse(t, wired).Loop()
	want := &loop.Loop{
		Supply:      loop.Supply{V: 24, Ohm: 1, MostMA: 100},
		ResistorOhm: 250,
		Series:      []loop.Instrument{{Name: "indicator", Ohm: 10}},
		Host:        loop.Host{V: 0.5, Ohm: 100, NF: 1},
		Cables: []loop.Cable{
			{Name: "trunk", Behind: loop.Source, LengthM: 600, OhmPerKM: 20.95, NFPerKM: 110},
			{Name: "branch", Behind: 0, LengthM: 100, OhmPerKM: 36, NFPerKM: 80},
			{Name: "end", Behind: 0, LengthM: 50.5, OhmPerKM: 36, NFPerKM: 80},
		},
		Devices: []loop.Device{
			{Name: "PT-1", Behind: 1, LiftOffV: 10.5, InputNF: 5, ToneMA: 1.6},
			{Name: "TT-2", Behind: loop.Source, LiftOffV: 12, InputNF: 13, ToneMA: 2, Reversed: true},
			{Name: "RESISTOR", Behind: 2, ToneMA: 2},
		},
	}
	if math.Abs(got.Cables[0].OhmPerKM-20.95) > 0.005 {
		t.Errorf("got %v ohm/km, want 20.95", got.Cables[0].OhmPerKM)
	}
	got.Cables[0].OhmPerKM = 20.95
	if diff := cmp.Diff(want, got, near); diff != "" {
		t.Errorf("want -, got +:\n%s", diff)
	}
}

// Without a word on it, the loop is a usual one.
func TestUsualLoop(t *testing.T) {
	want := &loop.Loop{
		Supply:      loop.Supply{V: 24, Ohm: 1},
		ResistorOhm: 250,
		Host:        loop.Host{V: 0.5, Ohm: 100},
		Devices:     []loop.Device{{Name: "T-1", Behind: loop.Source, ToneMA: 2}},
	}
	if diff := cmp.Diff(want, parse(t, crowd("", 1, "")).Loop(), near); diff != "" {
		t.Errorf("want -, got +:\n%s", diff)
	}
}

// A tag is no place, and a place is no tag.
func TestWhereTheHostIs(t *testing.T) {
	for _, c := range []struct {
		at     string
		place  loop.Place
		device int
	}{{"resistor", loop.AcrossResistor, 0}, {"supply", loop.AcrossSupply, 0}, {"RESISTOR", loop.AcrossDevice, 2}, {"TT-2", loop.AcrossDevice, 1}} {
		l := parse(t, strings.Replace(wired, `host_at = "resistor"`, `host_at = "`+c.at+`"`, 1)).Loop()
		if l.Host.At != c.place || l.Host.Device != c.device {
			t.Errorf("host_at %q: got place %d, device %d, want %d, %d", c.at, l.Host.At, l.Host.Device, c.place, c.device)
		}
	}
}

// One device of each sort: parked, following, held, following with a converter that is
// wrong, and one whose failure current is low.
func TestBudget(t *testing.T) {
	follows := func(polling int, output string) string {
		return strings.NewReplacer(`"fixed"`, `"modulated"`, "value = 50.0", "value = 125.0").Replace(deviceText(polling, "")) + output
	}
	d := parse(t, crowd("", 1, "lift_off_v = 10.5")+
		follows(2, "")+
		follows(3, "[device.output]\nsource = \"fixed\"\nfixed_ma = 7\n")+
		follows(4, "[device.output]\nconverter_gain = 1.01\nconverter_offset_ma = 0.1\n")+
		follows(5, "[device.output]\nfailure_ma = 3.5\nsaturation_ma = [3.9, 20.8]\n"))
	b, err := d.Budget(nil)
	if err != nil {
		t.Fatal(err)
	}
	now, worst := mA(b.Now), mA(b.Worst)
	if diff := cmp.Diff([]float64{4, 12, 7, 12.22, 12}, now, near); diff != "" {
		t.Errorf("now: want -, got +:\n%s", diff)
	}
	if diff := cmp.Diff([]float64{4, 21.5, 7, 21.5*1.01 + 0.1, 20.8}, worst, near); diff != "" {
		t.Errorf("worst: want -, got +:\n%s", diff)
	}
	if want := 24 - 0.25*47.22; math.Abs(b.Now.SourceV-want) > 1e-6 {
		t.Errorf("got %v V, want %v V", b.Now.SourceV, want)
	}
}

func mA(s *loop.Solution) (list []float64) {
	for _, d := range s.Devices {
		list = append(list, d.MA)
	}
	return list
}

// The trap: 60 mA, 9.0 V left, 13 devices at most, or 25.5 V.
func TestBudgetOfTheTrap(t *testing.T) {
	b, err := parse(t, crowd("", 15, "lift_off_v = 10.5")).Budget(nil)
	if err != nil {
		t.Fatal(err)
	}
	n, like, ok := b.Loop.Most()
	if b.Worst.SumMA != 60 || b.Worst.SourceV != 9 || b.NeedV != 25.5 || n != 13 || !ok || like.LiftOffV != 10.5 || b.OK() {
		t.Errorf("got %v mA, %v V left, %v V needed, at most %d devices like %+v, in order %v", b.Worst.SumMA, b.Worst.SourceV, b.NeedV, n, like, b.OK())
	}
}

// The demonstration line is an example to copy: everything about it is in order, with
// something to spare, and nothing happens on it.
func TestBudgetOfTheDemonstrationLine(t *testing.T) {
	d := linefile.Demonstration()
	b, err := d.Budget(nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range b.Verdicts {
		if v.Finding != loop.Holds {
			t.Errorf("%s %s: %s", v.Limit, v.Device, v.Says)
		}
	}
	for i, p := range b.Worst.Devices {
		if lift := b.Loop.Devices[i].LiftOffV; lift < 10.5 || p.V < lift+0.8 {
			t.Errorf("%s: %v V at the worst currents, want 0.8 V more than its lift-off voltage, %v V", b.Loop.Devices[i].Name, p.V, lift)
		}
	}
	if b.Worst.SumMA != 41.5 {
		t.Errorf("got %v mA at the worst, want 41.5 mA as it is written there", b.Worst.SumMA)
	}
	a := assemble(t, d, nil)
	reports := reported(a)
	scan(t, a, 0, 15)
	wantReports(t, reports)
}
