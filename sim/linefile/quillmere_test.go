package linefile_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/linefile"
	"looptone/sim/master"
)

// scan asks polling addresses from to to of a line, as the primary master.
func scan(t *testing.T, a *linefile.Assembly, from, to uint8) (found []master.Found) {
	t.Helper()
	s := master.Scan{From: from, To: to, Retries: 2, Found: func(f master.Found) { found = append(found, f) }}
	m := master.New(master.Config{Primary: true}, s.Run)
	defer m.Close()
	a.Line.Join(m)
	for !m.Done() {
		if a.Line.Next() == sim.Never {
			t.Fatal("the line came to rest before the scan had ended")
		}
		a.Line.Run(a.Line.Next())
	}
	if m.Err() != nil {
		t.Fatal(m.Err())
	}
	return found
}

// The parking rule, Source: Siemens Pointek CLS500 7ML19985GG03 p.30 (a device of
// revision 5 at a multidrop address holds 4 mA); from memory that from revision 6
// on the loop current mode alone decides.
func TestScanOfTheDemonstrationLine(t *testing.T) {
	type device struct {
		Polling, Revision uint8
		Unique, Tag       string
		LongTag           string // revision 7
		Modulated         bool
		Unit              string
		ResponseTime      sim.Tick
	}
	want := []device{
		{1, 7, "3901000065", "PT-101", "Inlet pressure", false, "bar", 45 * sim.Millisecond},
		{2, 5, "3903000066", "FT-102", "", false, "m³/h", 80 * sim.Millisecond},
		{3, 7, "3902000067", "LT-103", "Level of the spherical tank", false, "m³", 50 * sim.Millisecond},
		{4, 7, "3902000068", "LT-104", "Level of the lying cylinder", false, "%", 30 * sim.Millisecond},
		{5, 7, "3903000069", "FC-105", "Flow controller, filter 2", true, "m³/h", 20 * sim.Millisecond},
		{6, 5, "390400006a", "TT-106", "", false, "°C", 60 * sim.Millisecond},
	}
	a := assemble(t, linefile.Demonstration(), nil)
	var got []device
	for i, f := range scan(t, a, 0, 63) {
		if f.Tries != 1 || f.Unreadable || f.Tag == nil || f.Modulated == nil || f.PVUnit == nil || f.LoopCurrentMA == nil {
			t.Fatalf("polling address %d: %+v, want everything read at the first try", f.Polling, f)
		}
		d := device{f.Polling, f.UniversalRevision, f.Unique.String(), *f.Tag, "", *f.Modulated, f.PVUnit.String(), f.ResponseTime}
		if f.LongTag != nil {
			d.LongTag = *f.LongTag
		}
		got = append(got, d)
		if i >= len(a.Devices) {
			continue
		}
		if parked := *f.LoopCurrentMA == 4; parked == *f.Modulated {
			t.Errorf("%s: %v mA, want 4 mA where it is parked and else another current", *f.Tag, *f.LoopCurrentMA)
		}
		if fixed := f.Status&frame.LoopCurrentFixed != 0; fixed == *f.Modulated {
			t.Errorf("%s: status %v, want loop current fixed exactly where it is parked", *f.Tag, f.Status.Names())
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("want -, got +:\n%s", diff)
	}
}

// Every process stays where its transmitter can follow: in the sensor's limits and
// in the range, for an hour.
func TestDemonstrationStaysInRange(t *testing.T) {
	a := assemble(t, linefile.Demonstration(), nil)
	for _, d := range a.Devices {
		first, moved := d.Transmitter().PercentOfRange(), false
		for at := sim.Tick(0); at < 3600*sim.Second; at += sim.Second {
			d.Transmitter().To(at)
			p := d.Transmitter().PercentOfRange()
			moved = moved || p != first
			if s := d.Transmitter().Status(); p < 2 || p > 98 || s.OutOfLimits || s.CurrentSaturated {
				t.Fatalf("%s: %v %% of range after %v, status %+v", d.Config().Tag, p, at.Duration(), s)
			}
		}
		if !moved {
			t.Errorf("%s: nothing moves", d.Config().Tag)
		}
	}
}

func TestSeedChangesTheDemonstrationLine(t *testing.T) {
	one, two := uint64(1), uint64(2)
	d := linefile.Demonstration()
	if d.Name != "Quillmere" {
		t.Errorf("got line %q, want Quillmere", d.Name)
	}
	if cmp.Equal(readings(assemble(t, d, &one)), readings(assemble(t, d, &two))) {
		t.Error("seeds 1 and 2 make the same readings")
	}
}

// A litre of water is a kilogram here, so that 76,000 kg/h is 76 m³ in an hour;
// the swing is over in whole periods, and the noise of the differential pressure
// takes next to nothing off under the root.
func TestDemonstrationTotal(t *testing.T) {
	a := assemble(t, linefile.Demonstration(), nil)
	flow := a.Devices[1].Transmitter()
	flow.To(3600 * sim.Second)
	if total := flow.Totals(); math.Abs(total.Net-76) > 0.1 || total.Forward != total.Net {
		t.Errorf("FT-102: totals %+v after an hour, want 76 m³, none of it backward", total)
	}
}

// The volume of a spherical cap of height h is π h² (3r − h) / 3.
//
// Source: from memory (any handbook of mathematics).
func TestDemonstrationSphere(t *testing.T) {
	a := assemble(t, linefile.Demonstration(), nil)
	sphere := a.Devices[2].Transmitter()
	const r = 2.0
	for at := sim.Tick(0); at < 600*sim.Second; at += 7 * sim.Second {
		sphere.To(at)
		h := sphere.Value() / 39.2 * 2 * r
		want := math.Pi * h * h * (3*r - h) / 3
		if got, _ := sphere.PrimaryVariable(); math.Abs(got-want) > 0.0035*33.5 {
			t.Errorf("LT-103 after %v: %v m³ at %v m, want %v within what 16 points allow", at.Duration(), got, h, want)
		}
	}
}

// At the first moment the flow controller has its valve where it begins, at 64 %,
// and the flow is 64 % of the 56 m³/h that come through the open one.
func TestDemonstrationBeginsSettled(t *testing.T) {
	d := assemble(t, linefile.Demonstration(), nil).Devices[4].Transmitter()
	if ma := d.WireCurrentMA(); ma != 4+0.64*16 {
		t.Errorf("FC-105: got %v mA, want %v", ma, 4+0.64*16)
	}
	if flow, u := d.PrimaryVariable(); math.Abs(flow-0.64*56) > 0.5 || u != cubic {
		t.Errorf("FC-105: got %v %v, want %v m³/h give or take its noise", flow, u, 0.64*56)
	}
}

// The controller holds its set point against the swing, and its current does the
// work.
func TestDemonstrationControls(t *testing.T) {
	a := assemble(t, linefile.Demonstration(), nil)
	d := a.Devices[4].Transmitter()
	lowest, highest, sum := math.Inf(1), 0.0, 0.0
	const turns = 15 // of the swing
	for at := 60 * sim.Second; at < (60+turns*40)*sim.Second; at += sim.Second {
		d.To(at)
		ma := d.WireCurrentMA()
		lowest, highest, sum = min(lowest, ma), max(highest, ma), sum+d.PercentOfRange()/(turns*40)
		if p := d.PercentOfRange(); p < 54 || p > 66 {
			t.Errorf("FC-105 after %v: %v %%, want 60 give or take 6", at.Duration(), p)
		}
	}
	if highest-lowest < 1 || math.Abs(sum-60) > 0.2 {
		t.Errorf("FC-105: %v to %v mA, %v %% on average, want a current that moves, and 60 %%", lowest, highest, sum)
	}
}
