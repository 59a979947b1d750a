package linefile_test

import (
	"fmt"
	"runtime"
	"strings"
	"testing"

	"looptone/sim"
	"looptone/sim/linefile"
	"looptone/sim/master"
)

// everything is a device with every stage, noise and a controller.
const everything = `
[[device]]
tag = "FT-%[1]d"
polling = %[1]d
kind = "flow"
revision = 7
loop_current_mode = "modulated"
damping_s = 1
latency_ms = 20
[device.sensor]
lower = 0
upper = 50
unit = "kPa"
zero_per_k = 0.01
at_c = 30
[device.transfer]
power = "1/2"
cut_off_percent = 2
[device.table]
points = [[0, 0], [20, 10], [50, 60], [80, 90], [100, 100]]
[device.user_unit]
lower = 0
upper = 120
unit = "m³/h"
[device.totaliser]
unit = "m³"
[device.controller]
mode = "auto"
set_point_percent = 50
gain = 1.2
integral_s = 20
[device.output]
source = "manipulated"
[device.process]
model = "sine"
low = 4
high = 40
period_s = 60
noise = 0.1
`

// crowded is a line of 15 devices with every stage.
func crowded(tb testing.TB) *linefile.Description {
	tb.Helper()
	text := strings.Builder{}
	text.WriteString("[line]\nname = \"crowd\"\n")
	for i := range 15 {
		fmt.Fprintf(&text, everything, i+1)
	}
	d, err := linefile.Parse("crowd.toml", []byte(text.String()), nil)
	if err != nil {
		tb.Fatal(err)
	}
	return d
}

// repeated is a line of 15 devices, those of the demonstration line over and over.
func repeated() *linefile.Description {
	d := linefile.Demonstration()
	kinds := d.Devices
	for i := len(kinds); i < 15; i++ {
		c := kinds[i%len(kinds)]
		c.Polling, c.DeviceID = uint8(i+1), 200+uint32(i)
		again := fmt.Sprintf("%s-%d", c.Tag[:2], i)
		if d.Valves[c.Tag] == c.Tag {
			d.Valves[again] = again
		}
		c.Tag = again
		d.Devices = append(d.Devices, c)
	}
	return d
}

func lineOf(tb testing.TB, d *linefile.Description) *linefile.Assembly {
	tb.Helper()
	a, err := d.Assemble(nil, nil)
	if err != nil {
		tb.Fatal(err)
	}
	return a
}

// BenchmarkPolledLine runs 15 devices that are polled without a pause;
// "times-real-time" is how much faster than the clock. The aim is 50,000 on one
// core, with every stage there is too.
func BenchmarkPolledLine(b *testing.B) {
	b.Run("demonstration", func(b *testing.B) { pollLine(b, lineOf(b, repeated())) })
	b.Run("every stage", func(b *testing.B) { pollLine(b, lineOf(b, crowded(b))) })
}

func pollLine(b *testing.B, a *linefile.Assembly) {
	answered := 0
	m := master.New(master.Config{Primary: true}, func(yield func(*master.Transaction) bool) {
		t := master.Transaction{Preambles: 5, Command: 3}
		for i := 0; ; i++ {
			t.Address = a.Devices[i%len(a.Devices)].Config().Unique()
			if !yield(&t) {
				return
			}
			if t.Outcome == master.Answered {
				answered++
			}
		}
	})
	defer m.Close()
	a.Line.Join(m)
	start := a.Line.Now()
	b.ReportAllocs()
	for b.Loop() {
		a.Line.Run(a.Line.Now() + 100*sim.Second)
	}
	ran := (a.Line.Now() - start).Seconds()
	b.ReportMetric(ran/b.Elapsed().Seconds(), "times-real-time")
	b.ReportMetric(float64(answered)/ran, "transactions/s-of-line-time")
	if float64(answered) < ran {
		b.Errorf("%d answers in %v s", answered, ran)
	}
}

// A device of a line costs less than 64 KiB.
func TestAllocationsOfADevice(t *testing.T) {
	const lines, most = 20, 64 << 10
	kept := make([]*linefile.Assembly, lines)
	before := inUse()
	devices := 0
	for i := range kept {
		kept[i] = lineOf(t, crowded(t))
		devices += len(kept[i].Devices)
	}
	each := (inUse() - before) / uint64(devices)
	t.Logf("%d bytes a device", each)
	if each > most {
		t.Errorf("a device costs %d bytes, want at most %d", each, most)
	}
	runtime.KeepAlive(kept)
}

func inUse() uint64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.GC()
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}
