package linefile_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"looptone/sim"
	"looptone/sim/linefile"
)

// example reads a line file from testdata.
func example(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile("../../testdata/lines/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// The files in testdata are descriptions that a user may copy.
func TestExamplesRun(t *testing.T) {
	files, err := filepath.Glob("../../testdata/lines/*.toml")
	if err != nil || len(files) < 2 {
		t.Fatalf("%d files, error %v: want at least two", len(files), err)
	}
	for _, file := range files {
		d, err := linefile.Parse(file, []byte(example(t, filepath.Base(file))), nil)
		if err != nil {
			t.Error(err)
			continue
		}
		a := assemble(t, d, nil)
		done := 0
		a.Report = func(at sim.Tick, did string, err error) {
			if done++; err != nil {
				t.Errorf("%s: at %g s: %v", file, at.Seconds(), err)
			}
		}
		a.News = func(sim.Tick, string) {}
		a.Line.Run(200 * sim.Second)
		if done != len(d.Actions) {
			t.Errorf("%s: %d of %d actions were done", file, done, len(d.Actions))
		}
		for _, h := range a.Masters {
			if err := h.Master.Err(); err != nil {
				t.Errorf("%s: the %s stopped: %v", file, h.Seat.Name, err)
			}
			all := h.Poll.Tallies()
			if n := all[len(all)-1]; n.Answered < 100 || n.Damaged+n.Silent > n.Answered/2 {
				t.Errorf("%s: the %s asked in vain: %+v", file, h.Seat.Name, n)
			}
		}
		a.Close()
	}
}

// What the package documentation shows is a description.
func TestDocumentation(t *testing.T) {
	text, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	var shown []string
	for line := range strings.Lines(string(text)) {
		if code, ok := strings.CutPrefix(line, "//\t"); ok {
			shown = append(shown, code)
		} else if len(shown) > 0 && strings.TrimSpace(line) != "//" {
			break // the text behind it
		}
	}
	d := parse(t, strings.Join(shown, ""))
	if len(d.Devices) != 2 || len(d.Faults) == 0 || len(d.Masters) == 0 || len(d.Actions) == 0 {
		t.Errorf("got %d devices, %d faults, %d masters, %d actions, want two devices and some of the others",
			len(d.Devices), len(d.Faults), len(d.Masters), len(d.Actions))
	}
}

func TestSharedAddress(t *testing.T) {
	text := example(t, "shared-address.toml")
	found := scan(t, assemble(t, parse(t, text), nil), 0, 15)
	if len(found) != 1 || found[0].Polling != 3 || !found[0].Unreadable || found[0].Tries != 3 {
		t.Errorf("found %+v, want polling address 3, unreadable after three tries", found)
	}
	weaker := strings.Replace(text, "amplitude_v = 0.5 ", "amplitude_v = 0.125 ", 1)
	if weaker == text {
		t.Fatal("the file gives no amplitude")
	}
	found = scan(t, assemble(t, parse(t, weaker), nil), 0, 15)
	if len(found) != 1 || found[0].Tag == nil || *found[0].Tag != "PT-1" {
		t.Errorf("12 dB apart: found %+v, want PT-1", found)
	}
	alone := strings.Replace(text, "allow_duplicate = true", "", 1)
	if _, err := linefile.Parse("f", []byte(alone), nil); err == nil {
		t.Error("without allow_duplicate: no error")
	}
}

// TT-1 is always late. LT-2 replies to about every other request, and a scan asks a
// silent address once.
func TestLateAndSilent(t *testing.T) {
	d := parse(t, example(t, "late-and-silent.toml"))
	times := 0
	const seeds = 40
	for seed := range uint64(seeds) {
		for _, f := range scan(t, assemble(t, d, &seed), 0, 3) {
			if f.Polling != 2 {
				t.Errorf("seed %d: found polling address %d, want 2 only", seed, f.Polling)
			}
			times++
		}
	}
	if times < 10 || times > 30 {
		t.Errorf("found LT-2 in %d of %d scans, want about half", times, seeds)
	}
}

// designed is two line descriptions in one, as the design has them: a level in a
// spherical tank, and everything at once.
const designed = `[line]
name = "Quillmere"
supply_v = 24.0
resistor_ohm = 250
seed = 1
grid_ms = 100
store_ms = 5

[[device]]
polling = 3
tag = "LT-103"
kind = "level"
revision = 7
latency_ms = 50
loop_current_mode = "fixed"
  [device.sensor]
  lower = 0.0
  upper = 250.0
  unit = "kPa"
  [device.range]
  lower = 0.0
  upper = 40.0
  unit = "kPa"
  [device.table]
  shape = "sphere"
  points = 16
  [device.process]
  model = "sine"
  low = 5.0
  high = 35.0
  period_s = 60

[[fault]]
device = "LT-103"
kind = "late reply"
delay_chars = 30
probability = 0.1

[[device]]
tag = "FT-102"
polling = 2
kind = "flow"
revision = 5
maker = 249
device_type = 1
device_id = 102
amplitude_v = 0.5                # peak to peak at the resistor
multidrop_current = true
write_protect = false
sensor = { lower = 0.0, upper = 30.0, unit = "kPa" }
table = { points = [[0, 0], [100, 100]] }
stages = ["sensor", "characterisation", "damping", "trim", "range", "transfer", "table", "user_unit", "totaliser", "controller", "output"]
  [device.transfer]
  power = "1/2"                  # linear | 1/2 | 3/2 | 5/2 | a number
  cut_off_percent = 2.0
  [device.user_unit]
  lower = 0.0
  upper = 120.0
  unit = "m³/h"
  [device.totaliser]
  unit = "m³"
  save_every = "10s"
  [device.controller]
  mode = "auto"                  # off | manual | auto
  action = "reverse"
  set_point_percent = 50.0
  gain = 1.2
  integral_s = 20.0
  derivative_s = 0.0
  output_percent = [0.0, 100.0]
  [device.output]
  source = "manipulated"         # pv | manipulated | fixed
  saturation_ma = [3.8, 20.5]
  failure_ma = 21.5
  [device.process]
  model = "tank"                 # constant ramp step sine noise csv tank orifice thermal
  shape = "lying cylinder"
  volume_m3 = 20.0
  inflow_m3h = 12.0
  valve = "FT-102"               # whose current drives it
  noise = 0.05
`

func TestDesignedLineRuns(t *testing.T) {
	a := assemble(t, parse(t, designed), nil)
	a.Line.Run(sim.Second)
	for _, d := range a.Devices {
		d.Transmitter().To(sim.Second)
		if s := d.Transmitter().Status(); s.OutOfLimits || s.Malfunction {
			t.Errorf("%s: status %+v", d.Config().Tag, s)
		}
	}
}

// The tank comes to rest at the set point, where the outlet lets out what flows
// in. There the volume is 60 %, which a lying cylinder holds at 57.89 % of its
// height, so that 24 m³/h × opening × √0.5789 = 12 m³/h: 65.7 % open, 14.51 mA.
//
// Source: from memory (circular segment, Torricelli's law).
func TestTankComesToRest(t *testing.T) {
	a := assemble(t, parse(t, example(t, "tank-level.toml")), nil)
	d := a.Devices[0].Transmitter()
	d.To(7200 * sim.Second)
	volume, u := d.PrimaryVariable()
	if math.Abs(volume-1.2) > 0.001 || u != cubicMetre {
		t.Errorf("got %v %v, want 1.2 m³", volume, u)
	}
	if ma := d.WireCurrentMA(); math.Abs(ma-14.51) > 0.03 {
		t.Errorf("got %v mA, want 14.51", ma)
	}
}
