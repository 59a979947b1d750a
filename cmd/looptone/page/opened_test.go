package page

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"looptone/sim/linefile"
)

// What hangs on the string is what the loop current does not go through.
func TestStringOfBeads(t *testing.T) {
	tests := map[int]string{
		orifice:    "process-sensor-characterisation-damping-trim-range-transfer-(user_unit)-(totaliser)-(totaliser_forward)-output-loop_current",
		sphere:     "process-sensor-characterisation-damping-trim-range-transfer-table-(user_unit)-output-loop_current",
		controlled: "process-sensor-characterisation-damping-trim-range-transfer-(user_unit)-controller-output-loop_current",
	}
	run(t, linefile.Example(), Config{}, func(r *running) {
		for i, want := range tests {
			o := r.open(i)
			var names []string
			for n, b := range o.Beads {
				name := b.Name
				if !b.String {
					name = "(" + name + ")"
				}
				names = append(names, name)
				if b.From >= n || n > 0 && b.From < 0 {
					t.Errorf("%s: %s takes bead %d, want one before it", o.Tag, b.Name, b.From)
				}
				if b.Title == "" || b.Says == "" || b.Settings == nil {
					t.Errorf("%s: %s says nothing: %+v", o.Tag, b.Name, b)
				}
				for _, x := range b.Settings {
					if x.Name == "" || x.Value == "" || !strings.HasSuffix(x.Says, ".") {
						t.Errorf("%s: %s: got setting %+v, want a name, a value and a sentence", o.Tag, b.Name, x)
					}
				}
			}
			if got := strings.Join(names, "-"); got != want {
				t.Errorf("%s: got  %s\nwant %s", o.Tag, got, want)
			}
		}
	})
}

// dial is the value of a setting.
func (b *Bead) dial(name string) string {
	for _, x := range b.Settings {
		if x.Name == name {
			return x.Value
		}
	}
	return "none of that name"
}

func TestSettingsAsDescribed(t *testing.T) {
	tests := []struct {
		device     int
		bead, name string
		want       string
	}{
		{orifice, "sensor", "lower limit", "−5 kPa"},
		{orifice, "damping", "time constant", "1 s"},
		{orifice, "transfer", "power", "1/2, square root"},
		{orifice, "transfer", "cut-off", "2 %"},
		{orifice, "user_unit", "at 100 %", "120 m³/h"},
		{orifice, "totaliser", "unit", "m³"},
		{sphere, "range", "upper range value", "39.2 kPa"},
		{sphere, "table", "points", "16"},
		{sphere, "table", "vessel", "sphere"},
		{sphere, "table", "worst error", "0.31 %"},
		{sphere, "output", "follows", "process variable"},
		{sphere, "output", "failure current", "21.5 mA"},
		{controlled, "controller", "mode", "automatic"},
		{controlled, "controller", "set point", "60 %"},
		{controlled, "controller", "integral time", "2 s"},
		{controlled, "controller", "derivative time", "none"},
		{controlled, "output", "follows", "controller output"},
	}
	run(t, linefile.Example(), Config{}, func(r *running) {
		for _, tt := range tests {
			b := r.bead(tt.device, tt.bead)
			if got := b.dial(tt.name); got != tt.want {
				t.Errorf("device %d, %s, %s: got %s, want %s", tt.device, tt.bead, tt.name, got, tt.want)
			}
		}
	})
}

// What was set since counts.
func TestSettingsFollowAnAction(t *testing.T) {
	run(t, linefile.Example(), Config{}, func(r *running) {
		r.must(Wish{Do: "act", Action: map[string]any{"set": "LT-103.range.upper", "to": 30.0}})
		r.must(Wish{Do: "act", Action: map[string]any{"set": "FC-105.controller.set_point_percent", "to": 45.0}})
		b := r.bead(sphere, "range")
		if got := b.dial("upper range value"); got != "30 kPa" {
			t.Errorf("got an upper range value of %s, want 30 kPa", got)
		}
		near(t, "range", b.Curve.at(15), 50, 1e-9)
		if got := r.open(controlled).SetPoint; got == nil || *got != 45 {
			t.Errorf("got a set point of %v, want 45 %%", got)
		}
	})
}

func TestWhyTheCurrentDoesWhatItDoes(t *testing.T) {
	zero := "[line]\nname = \"zero\"\n" + strings.SplitAfter(strings.Replace(two, "polling = 2", "polling = 0", 1), "[[device]]")[2]
	zero = strings.Replace(zero, "tag = ", "[[device]]\ntag = ", 1)
	tests := []struct {
		name, file string
		device     int
		act        *Wish
		mode, want string
	}{
		{"revision 5, away from 0", linefile.Example(), orifice, nil, "parked",
			"In revision 5 the polling address decides: at any but 0 the current is parked."},
		{"revision 5, at 0", zero, 0, nil, "moving",
			"In revision 5 the polling address decides: at 0 the current moves."},
		{"revision 7, off", linefile.Example(), sphere, nil, "parked",
			"In revision 7 the loop current mode alone decides, and it is off."},
		{"revision 7, on", linefile.Example(), controlled, nil, "moving",
			"In revision 7 the loop current mode alone decides, and it is on."},
		{"held", linefile.Example(), controlled,
			&Wish{Do: "send", As: "secondary", Device: "FC-105", Command: 40, Fields: map[string]any{"fixed loop current": 12.0}}, "fixed",
			"Somebody holds it at 12 mA for a test, until it is let go."},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			run(t, tt.file, Config{}, func(r *running) {
				if tt.act != nil {
					r.must(*tt.act)
					time.Sleep(10 * time.Second) // of the bubble
					synctest.Wait()
				}
				if o := r.open(tt.device); o.Mode != tt.mode || o.Why != tt.want {
					t.Errorf("got %s: %s\nwant %s: %s", o.Mode, o.Why, tt.mode, tt.want)
				}
			})
		})
	}
}
