package linefile_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"looptone/sim"
)

// Across a supply of 1 ohm 2 mA make 2 mV, and the host's 0.7 V, which it gives through
// 100 ohm, 7 mV. Across 20 ohm 2 mA make 40 mV, and the host's tones 0.7 V · 20/120.
//
// Source: Ohm's law; Texas Instruments application note SLAAER4 (Mar 2025), 3.4.8 table
// 3-8 (120 mV).
func TestHostThatHearsNobody(t *testing.T) {
	for _, c := range []struct{ line, want string }{
		{"resistor_ohm = 0", "0 there is no resistor: at most 0 mV of the tones reach the host, and 0 mV a device, want 120 mV"},
		{`host_at = "supply"`, "0 the host is clipped across the supply: at most 2.0 mV of the tones reach the host, and 6.9 mV a device, want 120 mV"},
		{"resistor_ohm = 20", "0 the resistor has only 20 ohm: at most 40 mV of the tones reach the host, and 117 mV a device, want 120 mV"},
		{"host_v = 0.05", "0 at most 50 mV of the host's tones reach a device, want 120 mV"},
		{"resistor_ohm = 30", "0 the resistor has only 30 ohm: at most 60 mV of the tones reach the host, want 120 mV"},
	} {
		a := assemble(t, parse(t, crowd(c.line, 2, "lift_off_v = 10.5")), nil)
		reports := reported(a)
		if got := answering(t, a, 2); got != nil {
			t.Errorf("%s: %v answer, want nobody", c.line, got)
		}
		wantReports(t, reports, c.want)
		if a.EverybodyHears() {
			t.Errorf("%s: everybody is said to hear", c.line)
		}
	}
}

// One of two is too weak, or too far away, to be heard.
func TestDeviceThatIsTooWeak(t *testing.T) {
	a := assemble(t, parse(t, crowd("resistor_ohm = 250", 1, "lift_off_v = 10.5")+deviceText(2, "amplitude_v = 0.075")), nil)
	reports := reported(a)
	if got := answering(t, a, 2); !slices.Equal(got, []int{1}) {
		t.Errorf("%v answer, want T-1", got)
	}
	wantReports(t, reports, "0 75 mV of the tones of T-2 reach the host, want 120 mV")
	d := parse(t, crowd("resistor_ohm = 240", 2, "amplitude_v = 0.2"))
	a = assemble(t, d, nil)
	reports = reported(a)
	if got := answering(t, a, 2); !slices.Equal(got, upTo(2)) {
		t.Errorf("%v answer with 192 mV, want both", got)
	}
	wantReports(t, reports)
	if !a.EverybodyHears() {
		t.Error("192 mV are said not to reach everybody")
	}
	did(t, d, a, `{"set": "T-2.amplitude_v", "to": 0.075}`, "amplitude_v of T-2 is 0.075 from now on")
	if got := answering(t, a, 2); !slices.Equal(got, []int{1}) || len(*reports) != 1 || !strings.HasSuffix((*reports)[0], " 72 mV of the tones of T-2 reach the host, want 120 mV") {
		t.Errorf("%v answer, reports %q; want T-1, and 72 mV of T-2", got, *reports)
	}
	if a.EverybodyHears() {
		t.Error("72 mV are said to reach everybody")
	}
	a = assemble(t, parse(t, crowd("host_v = 0.15\n[[line.cable]]\nname = \"long\"\nlength_m = 3000\nawg = 26\nnf_per_km = 120", 1, "behind = \"\"")+
		deviceText(2, "")), nil)
	reports = reported(a)
	a.Line.Run(sim.Second)
	if len(*reports) != 1 || !strings.Contains((*reports)[0], "mV of the host's tones reach T-2, want 120 mV") || strings.Contains((*reports)[0], "T-1") {
		t.Errorf("got reports %q, want T-2 out of reach of the host", *reports)
	}
}

// What was wrong is put right on the running line. Across T-2 and across the resistor the
// host, whose tones are the weaker ones, gives 200 mV.
func TestHostIsClippedOnElsewhere(t *testing.T) {
	d := parse(t, crowd("host_at = \"supply\"\nhost_v = 0.2", 2, ""))
	a := assemble(t, d, nil)
	reports := reported(a)
	if got := answering(t, a, 2); got != nil {
		t.Errorf("across the supply %v answer, want nobody", got)
	}
	*reports = nil
	for _, place := range []string{"T-2", "resistor"} {
		did(t, d, a, fmt.Sprintf(`{"set": "line.host_at", "to": %q}`, place), fmt.Sprintf("host_at of the line is %q from now on", place))
		if got := answering(t, a, 2); !slices.Equal(got, upTo(2)) {
			t.Errorf("at %s: %v answer, want both", place, got)
		}
	}
	if len(*reports) != 1 || !strings.Contains((*reports)[0], "the host and the devices hear each other again: at least 200 mV of the tones reach everybody") {
		t.Errorf("got reports %q", *reports)
	}
}

// listener counts what can be heard of others.
type listener struct{ heard int }

func (l *listener) Step(_ sim.Tick, heard []sim.Heard) (*sim.Burst, sim.Tick) {
	for i := range heard {
		if heard[i].Carrier == 0 {
			l.heard++
		}
	}
	return nil, sim.Never
}

// A device that babbles does so from where it hangs: who is clipped across the supply
// hears next to nothing of it. Noise is as strong as it says everywhere.
func TestFaultsThatTalk(t *testing.T) {
	for _, c := range []struct {
		line, fault string
		heard       bool
	}{
		{`host_at = "supply"`, `{"kind": "babble", "device": "T-1", "every_s": 1}`, false},
		{"resistor_ohm = 240", `{"kind": "babble", "device": "T-1", "every_s": 1}`, true},
		{"host_v = 0.05", `{"kind": "babble", "device": "T-1", "every_s": 1}`, true}, // it is not the host that babbles
		{`host_at = "supply"`, `{"kind": "noise", "every_s": 1}`, true},
	} {
		d := parse(t, crowd(c.line, 1, ""))
		a := assemble(t, d, nil)
		if _, err := do(t, d, a, `{"fault": `+c.fault+`}`); err != nil {
			t.Fatal(err)
		}
		l := &listener{}
		a.Line.Join(l)
		a.Line.Run(60 * sim.Second)
		if heard := l.heard > 10; heard != c.heard || !c.heard && l.heard != 0 {
			t.Errorf("%s, %s: %d heard, want some %v", c.fault, c.line, l.heard, c.heard)
		}
	}
}
