package linefile_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"looptone/frame"
	"looptone/sim"
)

// Fifteen parked devices take 60 mA, which leave 9.0 V of 24 V behind 250 ohm. With
// thirteen of them 11.0 V are left, which are enough for 10.5 V.
//
// Source: Ohm's law; Siemens Pointek CLS500 7ML19985GG03 p.30 (up to 15 devices, each
// parked at 4 mA).
func TestMultidropTrap(t *testing.T) {
	d := parse(t, crowd("supply_v = 24.0\nresistor_ohm = 250", 15, "lift_off_v = 10.5"))
	a := assemble(t, d, nil)
	reports := reported(a)
	if got := answering(t, a, 15); !slices.Equal(got, upTo(13)) {
		t.Errorf("at 24 V: %v answer, want 1 to 13", got)
	}
	wantReports(t, reports, "0 T-14 goes dark: only 10.0 V left for it, it wants 10.5 V", "0 T-15 goes dark: only 9.0 V left for it, it wants 10.5 V")
	if v, ok := a.TerminalV(0); !ok || math.Abs(v-11) > 1e-9 {
		t.Errorf("got %v V, %v, across T-1, want 11 V", v, ok)
	}

	did(t, d, a, `{"set": "line.supply_v", "to": 25.4}`, "supply_v of the line is 25.4 from now on")
	a.Line.Run(a.Line.Now() + 2*sim.Second)
	if got := answering(t, a, 15); !slices.Equal(got, upTo(14)) {
		t.Errorf("at 25.4 V: %v answer, want 1 to 14", got)
	}
	did(t, d, a, `{"set": "line.supply_v", "to": 25.5}`, "supply_v of the line is 25.5 from now on")
	a.Line.Run(a.Line.Now() + 2*sim.Second)
	if got := answering(t, a, 15); !slices.Equal(got, upTo(15)) {
		t.Errorf("at 25.5 V: %v answer, want 1 to 15", got)
	}
	for _, r := range *reports {
		if !strings.HasSuffix(r, " T-14 is back: 11.4 V across it") && !strings.HasSuffix(r, " T-15 is back: 10.5 V across it") {
			t.Errorf("got report %q", r)
		}
	}
	if len(*reports) != 2 {
		t.Errorf("got %d reports, want 2", len(*reports))
	}
}

// A supply that drops takes the device with it that needs most; when it is back, that
// device begins anew.
func TestSupplyDropsAndComesBack(t *testing.T) {
	d := parse(t, crowd("supply_v = 24.0", 1, "lift_off_v = 10.5")+deviceText(2, "lift_off_v = 12")+`
[[at]]
time = "20s"
set = "line.supply_v"
to = 13.5

[[at]]
time = "40s"
set = "line.supply_v"
to = 24
`)
	a := assemble(t, d, nil)
	reports := reported(a)
	coldStarts := func(want ...bool) {
		t.Helper()
		var got []bool
		for _, f := range scan(t, a, 0, 2) {
			got = append(got, f.Status&frame.ColdStart != 0)
		}
		if !slices.Equal(got, want) {
			t.Errorf("cold starts of those that answer: got %v, want %v", got, want)
		}
	}
	scan(t, a, 0, 2) // who has been told of the first cold start tells it no more
	coldStarts(false, false)
	a.Line.Run(21 * sim.Second)
	coldStarts(false)
	a.Line.Run(42 * sim.Second)
	scan(t, a, 0, 1)
	found := scan(t, a, 2, 2)
	if len(found) != 1 {
		t.Fatalf("T-2 does not answer: %v", found)
	}
	wantReports(t, reports,
		"20 supply_v of the line is 13.5 from now on",
		"20 T-2 goes dark: only 11.5 V left for it, it wants 12.0 V",
		"40 supply_v of the line is 24 from now on",
		"40 T-2 is back: 22.0 V across it")
}

// The status of the first reply behind a loss of voltage has the cold start.
func TestVoltageLostIsAColdStart(t *testing.T) {
	d := parse(t, crowd("", 1, "lift_off_v = 10.5"))
	a := assemble(t, d, nil)
	status := func() (s frame.DeviceStatus) {
		t.Helper()
		first := true
		a.Line.Log(func(talker *sim.Seat, b *sim.Burst) {
			if talker == a.Seats[0] && first {
				first = false
				var dec frame.Decoder
				dec.Feed(b.Chars, b.Marks)
				dec.End()
				var ev frame.Event
				for dec.Next(&ev) {
					s = ev.Frame.Status.Device
				}
			}
		})
		scan(t, a, 1, 1)
		return s
	}
	if status()&frame.ColdStart == 0 || status()&frame.ColdStart != 0 {
		t.Fatal("want a cold start once")
	}
	did(t, d, a, `{"set": "line.supply_v", "to": 11}`, "supply_v of the line is 11 from now on")
	a.Line.Run(a.Line.Now() + sim.Second)
	did(t, d, a, `{"set": "line.supply_v", "to": 12}`, "supply_v of the line is 12 from now on")
	a.Line.Run(a.Line.Now() + 2*sim.Second)
	if status()&frame.ColdStart == 0 {
		t.Error("no cold start behind a loss of voltage")
	}
}

func TestLeadsSwapped(t *testing.T) {
	d := parse(t, crowd("host_swapped = true", 1, "lift_off_v = 10.5")+deviceText(2, "reversed = true"))
	a := assemble(t, d, nil)
	reports := reported(a)
	if got := answering(t, a, 2); !slices.Equal(got, upTo(1)) {
		t.Errorf("%v answer, want T-1", got)
	}
	wantReports(t, reports, "0 T-2 goes dark: its leads are swapped, it draws nothing",
		"0 the leads of the host are swapped; that changes nothing, tones alternate")
	did(t, d, a, `{"set": "T-2.reversed", "to": false}`, "reversed of T-2 is false from now on")
	did(t, d, a, `{"set": "T-1.reversed", "to": true}`, "reversed of T-1 is true from now on")
	did(t, d, a, `{"set": "line.host_swapped", "to": false}`, "host_swapped of the line is false from now on")
	a.Line.Run(a.Line.Now() + 2*sim.Second)
	if got := answering(t, a, 2); !slices.Equal(got, []int{2}) {
		t.Errorf("%v answer, want T-2", got)
	}
}

// Who is dark for one reason and then for another one stays dark.
func TestDarkForAnotherReason(t *testing.T) {
	d := parse(t, crowd("", 1, "lift_off_v = 10.5\nreversed = true"))
	a := assemble(t, d, nil)
	reports := reported(a)
	for i, action := range []string{`{"set": "line.supply_v", "to": 11}`, `{"set": "T-1.reversed", "to": false}`, `{"set": "T-1.reversed", "to": true}`} {
		a.Line.Run(sim.Tick(i+1) * sim.Second)
		if _, err := do(t, d, a, action); err != nil {
			t.Fatal(err)
		}
	}
	a.Line.Run(4 * sim.Second)
	wantReports(t, reports,
		"0 T-1 goes dark: its leads are swapped, it draws nothing",
		"2 T-1 stays dark: only 10.0 V left for it, it wants 10.5 V",
		"3 T-1 stays dark: its leads are swapped, it draws nothing")
}

// The last device hangs at the end of a thin cable, which takes too much of the voltage
// that is left.
func TestVoltageAlongTheCable(t *testing.T) {
	text := strings.NewReplacer("length_m = 100\nawg = 18", "length_m = 1000\nohm_per_km = 120").Replace(tree())
	text = strings.Replace(text, `behind = "far"`+"\nlift_off_v = 10.5", `behind = "far"`+"\nlift_off_v = 13.2", 1)
	d := parse(t, text)
	a := assemble(t, d, nil)
	reports := reported(a)
	a.Line.Run(sim.Second)
	// 24 V, less 24 mA · 250 ohm, 20 mA · 240 ohm, 8 mA and 4 mA · 240 ohm each: 10.32 V.
	wantReports(t, reports, "0 T-6 goes dark: only 10.3 V left for it, it wants 13.2 V")
	want := d.Loop().Settle([]float64{4, 4, 4, 4, 4, 4})
	for i := range want.Devices {
		if v, _ := a.TerminalV(i); v != want.Devices[i].V {
			t.Errorf("T-%d: got %v V, want %v V", i+1, v, want.Devices[i].V)
		}
	}
}

// Nothing is added to a line of which nothing is said of the electricity, until
// something is.
func TestLinesWithoutElectricity(t *testing.T) {
	d := parse(t, crowd("seed = 3", 2, "amplitude_v = 0.4"))
	a := assemble(t, d, nil)
	if n := len(a.Line.Seats()); n != 2 {
		t.Errorf("got %d seats, want those of the devices", n)
	}
	if _, ok := a.TerminalV(0); ok {
		t.Error("got a voltage")
	}
	did(t, d, a, `{"set": "T-1.amplitude_v", "to": 0.3}`, "amplitude_v of T-1 is 0.3 from now on")
	if n := len(a.Line.Seats()); n != 2 {
		t.Errorf("got %d seats, want those of the devices", n)
	}
	a.Line.Run(1234 * sim.Millisecond)
	reports := reported(a)
	did(t, d, a, `{"set": "T-2.lift_off_v", "to": 22.5}`, "lift_off_v of T-2 is 22.5 from now on")
	a.Line.Run(a.Line.Now())
	wantReports(t, reports, "1.234 T-2 goes dark: only 22.0 V left for it, it wants 22.5 V")
	a.Line.Run(a.Line.Now() + sim.Second)
	did(t, d, a, `{"set": "T-2.lift_off_v", "to": 20}`, "lift_off_v of T-2 is 20 from now on")
	a.Line.Run(a.Line.Now())
	wantReports(t, reports, "2.234 T-2 is back: 22.0 V across it")
}

// A device whose current rises takes the voltage from itself: 24 V less 18.5 V are 22 mA
// through 250 ohm, of which T-1 draws 4; T-2 wants 18 mA at 87.5 % of its range, 8.75 s
// after the ramp has begun, and more at the next grid point.
func TestCurrentThatRises(t *testing.T) {
	d := parse(t, crowd("", 1, "lift_off_v = 10.5")+strings.NewReplacer(
		`loop_current_mode = "fixed"`, `loop_current_mode = "modulated"`,
		`model = "constant", value = 50.0`, `model = "ramp", from = 0, to = 250, start_s = 10, length_s = 10`).Replace(deviceText(2, "lift_off_v = 18.5")))
	a := assemble(t, d, nil)
	reports := reported(a)
	a.Line.Run(40 * sim.Second)
	wantReports(t, reports, "18.8 T-2 goes dark: only 18.48 V left for it, it wants 18.50 V")
	did(t, d, a, `{"set": "T-2.process.value", "to": 0}`, "process.value of T-2 is 0 from now on")
	a.Line.Run(41 * sim.Second)
	wantReports(t, reports, "40.1 T-2 is back: 22.0 V across it")
}

// No voltage is below zero. Two that want 20 mA each would take 10 V of 8 V in 250 ohm, one
// of them takes 5 V.
func TestNothingIsLeft(t *testing.T) {
	d := parse(t, strings.ReplaceAll(crowd("supply_v = 8", 2, "lift_off_v = 7\n[device.output]\nsource = \"fixed\"\nfixed_ma = 20\n"),
		`loop_current_mode = "fixed"`, `loop_current_mode = "modulated"`))
	a := assemble(t, d, nil)
	reports := reported(a)
	a.Line.Run(sim.Second)
	wantReports(t, reports, "0 T-1 goes dark: only 3.0 V left for it, it wants 7.0 V", "0 T-2 goes dark: nothing left for it, it wants 7.0 V")
}

// Who is kept off by a fault draws nothing, so another one comes back, at the next grid
// point; of those that a fault keeps off nothing is said.
func TestElectricityBesideFaults(t *testing.T) {
	d := parse(t, crowd("", 15, "lift_off_v = 10.5")+`
[[fault]]
kind = "restart"
device = "T-1"
every_s = 1000
down_s = 5
from = 10
count = 1

[[fault]]
kind = "line cut"
behind = "T-12"
from = 30
until = 40
`)
	a := assemble(t, d, nil)
	reports := reported(a)
	a.Line.Run(31 * sim.Second)
	for i, want := range map[int]float64{0: 12, 11: 12, 12: 0, 14: 0} {
		if v, ok := a.TerminalV(i); v != want || !ok {
			t.Errorf("behind the cut: got %v V across T-%d, want %v V", v, i+1, want)
		}
	}
	a.Line.Run(60 * sim.Second)
	wantReports(t, reports,
		"0 T-14 goes dark: only 10.0 V left for it, it wants 10.5 V",
		"0 T-15 goes dark: only 9.0 V left for it, it wants 10.5 V",
		"10.1 T-14 is back: 11.0 V across it",
		"15.1 T-14 goes dark: only 10.0 V left for it, it wants 10.5 V")
	if v, _ := a.TerminalV(14); v != 11 {
		t.Errorf("got %v V across T-15, which is dark, want 11 V", v)
	}
	if got := answering(t, a, 15); !slices.Equal(got, upTo(13)) {
		t.Errorf("%v answer, want 1 to 13", got)
	}
}

// A line on which everything is settled costs no memory, however long it runs, and what
// is said there not more than elsewhere.
func TestAllocationsOfElectricity(t *testing.T) {
	allocations := func(text string) float64 {
		a := assemble(t, parse(t, text), nil)
		defer a.Close()
		a.Line.Run(10 * sim.Second)
		return testing.AllocsPerRun(20, func() { a.Line.Run(a.Line.Now() + 10*sim.Second) })
	}
	if n := allocations(tree()); n != 0 {
		t.Errorf("got %v allocations in 10 s of a quiet line, want none", n)
	}
	const polled = "\n[[master]]\nkind = \"primary\"\n"
	plain, wired := allocations(crowd("", 6, "")+polled), allocations(tree()+polled)
	if math.Abs(wired-plain) > 1 {
		t.Errorf("got %v allocations in 10 s, want %v as without electricity", wired, plain)
	}
}

// Two runs of one seed say the same, whatever the electricity does in between.
func TestElectricityIsReproducible(t *testing.T) {
	run := func() (log []string) {
		d := parse(t, tree()+`
[[master]]
kind = "primary"
[[at]]
time = 5
set = "line.host_ohm"
to = 1500
[[at]]
time = 12
set = "line.supply_v"
to = 15
[[at]]
time = 20
move = "T-6"
behind = "T-4"
[[at]]
time = 25
set = "line.supply_v"
to = 24
`)
		a := assemble(t, d, nil)
		defer a.Close()
		reports := reported(a)
		a.Line.Log(func(talker *sim.Seat, b *sim.Burst) {
			*reports = append(*reports, fmt.Sprintf("%d %s %x", b.At, talker.Name, b.Chars))
		})
		a.Line.Run(40 * sim.Second)
		return *reports
	}
	one, two := run(), run()
	if diff := cmp.Diff(one, two); diff != "" || len(one) < 50 {
		t.Errorf("%d entries; the second run differs from the first:\n%s", len(one), diff)
	}
}
