package linefile_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"looptone/frame"
	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/fault"
	"looptone/sim/linefile"
	"looptone/sim/master"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// Codes of the units that the tests use.
const (
	kPa   unit.Code = 12
	bar   unit.Code = 7
	cubic unit.Code = 19 // m³/h
)

// ofDescriptions compares what is told of a line.
var ofDescriptions = cmp.Options{cmpopts.IgnoreUnexported(linefile.Description{}), cmpopts.EquateComparable(frame.Address{})}

func parse(t *testing.T, text string) *linefile.Description {
	t.Helper()
	d, err := linefile.Parse("bench.toml", []byte(text), nil)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func assemble(t *testing.T, d *linefile.Description, seed *uint64) *linefile.Assembly {
	t.Helper()
	a, err := d.Assemble(seed, nil)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestDefaults(t *testing.T) {
	want := &linefile.Description{
		Name: "Bench", Seed: 1,
		Devices: []device.Config{{
			Identity: device.Identity{Revision: 7, Maker: 249, Type: 0xf903, DeviceID: 101,
				DeviceRevision: 1, SoftwareRevision: 1, HardwareRevision: 1, Preambles: 5, ReplyPreambles: 5},
			Tag: "FT-1", LongTag: "FT-1", Date: "2031-03-01", Polling: 0, LoopCurrent: true,
			Latency: 50 * sim.Millisecond, Level: 0.5,
			Transmitter: transmitter.Config{
				Grid:     100 * time.Millisecond,
				Process:  process.Config{Model: process.Constant(2)},
				Sensor:   transmitter.Sensor{Scale: transmitter.Scale{Lower: 0, Upper: 10, Unit: kPa}, AtC: 20},
				Range:    transmitter.Scale{Lower: 0, Upper: 10, Unit: kPa},
				Transfer: transmitter.Transfer{Power: 0.5},
			},
			StoreTime: 5 * sim.Millisecond,
		}},
		Vessels: map[string]process.Shape{},
		Valves:  map[string]string{},
	}
	got := parse(t, `line.name = "Bench"
[[device]]
tag = "FT-1"
polling = 0
kind = "flow"
sensor = { lower = 0, upper = 10, unit = "kPa" }
process = { model = "constant", value = 2 }
`)
	if diff := cmp.Diff(want, got, ofDescriptions); diff != "" {
		t.Errorf("want -, got +:\n%s", diff)
	}
}

func TestEveryKey(t *testing.T) {
	want := &linefile.Description{
		Name: "Bench", Seed: 5,
		Devices: []device.Config{{
			Identity: device.Identity{Revision: 7, Maker: 200, Type: 17, DeviceID: 4711,
				DeviceRevision: 1, SoftwareRevision: 1, HardwareRevision: 1, Preambles: 7, ReplyPreambles: 9},
			Tag: "FT-1", LongTag: "Größe 1", Descriptor: "ORIFICE", Message: "BEHIND FILTER 2", Date: "2030-12-24",
			Polling: 63, Latency: 20500 * sim.Microsecond, Level: 0.25,
			Transmitter: transmitter.Config{
				Grid:     20 * time.Millisecond,
				Process:  process.Config{Model: process.Sine{Low: 1, High: 9, Period: time.Minute}, Noise: 0.25},
				Sensor:   transmitter.Sensor{Scale: transmitter.Scale{Lower: -20, Upper: 100, Unit: kPa}, AtC: 20},
				DampingS: 1.5,
				Range:    transmitter.Scale{Lower: 0, Upper: 0.25, Unit: bar},
				Transfer: transmitter.Transfer{Power: 1.5, CutOffPercent: 3},
				UserUnit: &transmitter.Scale{Lower: 0, Upper: 120, Unit: cubic},
				Current: transmitter.Current{LowerMA: 3.9, UpperMA: 20.8, FailureMA: 3.5,
					Converter: transmitter.Converter{Gain: 1}},
			},
			StoreTime: 5 * sim.Millisecond,
			Bursts: []device.Publication{
				{Command: 3, Every: sim.Second, MaximumPeriod: 60 * sim.Second, Trigger: 2, Level: 1.5},
			},
		}},
		Vessels: map[string]process.Shape{},
		Valves:  map[string]string{},
		Faults: []fault.Fault{
			{Name: "late reply", Kind: "late reply", Device: "FT-1", Probability: 0.1, Settings: map[string]float64{"delay_chars": 1.5}},
			{Name: "mute", Kind: "no reply", Device: "FT-1", Probability: 1, Count: 3, From: 12 * sim.Second, Until: 20500 * sim.Millisecond},
			{Name: "line cut", Kind: "line cut", Other: "FT-1", Probability: 1},
		},
		Masters: []linefile.Master{
			{Primary: true, Retries: 3, Queries: []master.Query{{Device: master.Target{Tag: "FT-1"}, Command: 3}}},
			{Retries: 0, Queries: []master.Query{
				{Device: master.Target{Tag: "FT-1"}, Command: 9, Data: []byte{0, 0xff}, Every: 2 * sim.Second},
				{Device: master.Target{Tag: "FT-1"}, Command: 1},
			}},
		},
	}
	got := parse(t, `
[line]
name = "Bench"
supply_v = 28
resistor_ohm = 270.0
seed = 5
grid_ms = 20
[[device]]
tag = "FT-1"
long_tag = "Größe 1"
descriptor = "ORIFICE"
message = "BEHIND FILTER 2"
date = 2030-12-24
polling = 63
kind = "flow"
revision = 7
maker = 200
device_type = 17
device_id = 4711
preambles = 7
reply_preambles = 9
latency_ms = 20.5
amplitude_v = 0.25
loop_current_mode = "fixed"
damping_s = 1.5
sensor = { lower = -20, upper = 100, unit = "kPa" }
range = { lower = 0, upper = 0.25, unit = "bar" }
transfer = { power = "3/2", cut_off_percent = 3 }
user_unit = { lower = 0, upper = 120, unit = "m3/h" }
output = { saturation_ma = [3.9, 20.8], failure_ma = 3.5 }
process = { model = "sine", low = 1, high = 9, period_s = 60, noise = 0.25 }
  [[device.burst]]
  command = 3
  every = "1s"
  maximum = "60s"
  trigger = "rising"
  level = 1.5
[[fault]]
device = "FT-1"
kind = "late reply"
delay_chars = 1.5
probability = 0.1
[[fault]]
device = "FT-1"
kind = "no reply"
name = "mute"
count = 3
from = "12s"
until = 20.5
[[fault]]
kind = "line cut"
behind = "FT-1"
[[master]]
kind = "secondary"
retries = 0
poll = [ { device = "FT-1", command = 9, data = "00FF", every = "2s" }, { device = "FT-1", command = 1 } ]
[[master]]
kind = "primary"
`)
	if diff := cmp.Diff(want, got, ofDescriptions); diff != "" {
		t.Errorf("want -, got +:\n%s", diff)
	}
}

func TestModels(t *testing.T) {
	for text, want := range map[string]process.Model{
		`model = "constant", value = 2`:                                 process.Constant(2),
		`model = "ramp", from = 1, to = 2, start_s = 0.5, length_s = 4`: process.Ramp{From: 1, To: 2, Start: 500 * time.Millisecond, Length: 4 * time.Second},
		`model = "ramp", from = 1, to = 2, length_s = 4`:                process.Ramp{From: 1, To: 2, Length: 4 * time.Second},
		`model = "step", before = 1, after = 2, start_s = 3`:            process.Step{Before: 1, After: 2, Start: 3 * time.Second},
		`model = "sine", low = 1, high = 2, period_s = 6`:               process.Sine{Low: 1, High: 2, Period: 6 * time.Second},
	} {
		d := parse(t, `line = { name = "Bench" }
[[device]]
tag = "LT-1"
polling = 1
kind = "level"
sensor = { lower = 0, upper = 10, unit = "kPa" }
process = { `+text+" }\n")
		if diff := cmp.Diff(want, d.Devices[0].Transmitter.Process.Model); diff != "" {
			t.Errorf("%s: want -, got +:\n%s", text, diff)
		}
	}
}

// twins is a line with two devices that differ in nothing but their addresses.
const twins = `line = { name = "Twins", seed = 3 }
[[device]]
tag = "PT-1"
polling = 1
kind = "pressure"
sensor = { lower = 0, upper = 10, unit = "bar" }
process = { model = "constant", value = 5, noise = 0.5 }
[[device]]
tag = "PT-2"
polling = 2
kind = "pressure"
sensor = { lower = 0, upper = 10, unit = "bar" }
process = { model = "constant", value = 5, noise = 0.5 }
`

// readings are the primary variables of a line's devices, a second after another.
func readings(a *linefile.Assembly) (all [][]float64) {
	for _, d := range a.Devices {
		var values []float64
		for at := range sim.Tick(20) {
			d.Transmitter().To(at * sim.Second)
			v, _ := d.Transmitter().PrimaryVariable()
			values = append(values, v)
		}
		all = append(all, values)
	}
	return all
}

func TestSeedDecidesTheNoise(t *testing.T) {
	d := parse(t, twins)
	first := readings(assemble(t, d, nil))
	if cmp.Equal(first[0], first[1]) {
		t.Error("two devices have the same noise")
	}
	three, four := uint64(3), uint64(4)
	if diff := cmp.Diff(first, readings(assemble(t, d, &three))); diff != "" {
		t.Errorf("the file's seed, given again, makes another run:\n%s", diff)
	}
	other := readings(assemble(t, d, &four))
	for i := range other {
		if cmp.Equal(first[i], other[i]) {
			t.Errorf("device %d: seeds 3 and 4 make the same noise", i)
		}
	}
}
