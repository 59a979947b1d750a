package device_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/process"
	"looptone/sim/setting"
	"looptone/sim/transmitter"
)

// reconfigure changes the description of the first device, as it stands.
func (b *bench) reconfigure(change func(c *device.Config)) error {
	c := *b.devices[0].Config()
	if c.Bursts != nil {
		c.Bursts = slices.Clone(c.Bursts)
	}
	change(&c)
	return b.devices[0].Reconfigure(b.line.Now(), c)
}

func (b *bench) mustReconfigure(change func(c *device.Config)) {
	b.Helper()
	if err := b.reconfigure(change); err != nil {
		b.Fatal(err)
	}
}

// changes is the configuration change counter, and whether both masters are told of
// a change.
func (b *bench) changes() (counter int, told [2]bool) {
	b.Helper()
	for i := range told {
		f := b.request(0)
		f.Primary = i == 1
		reply := b.ask(f)
		counter = int(reply.Data[14])<<8 | int(reply.Data[15])
		told[i] = reply.Status.Device&frame.ConfigurationChanged != 0
	}
	return counter, told
}

// Source: KROHNE UFC 500 HART command specification p.8, and Allen-Bradley
// 1797-6.5.3 (2006) appendix C-6 (a change at the keypad is told too).
func TestReconfigurePolling(t *testing.T) {
	b := newBench(t, config(7))
	d := b.devices[0]
	b.mustReconfigure(func(c *device.Config) { c.Polling = 5 })
	if len(b.identify(0)) != 0 || len(b.identify(5)) != 1 || d.Polling() != 5 {
		t.Errorf("polling address %d, want it to answer at 5 alone", d.Polling())
	}
	if n, told := b.changes(); n != 1 || told != [2]bool{true, true} {
		t.Errorf("counter %d, told %v, want 1 and both masters", n, told)
	}
	if got := d.Transmitter().LoopCurrentMA(); got != 12 {
		t.Errorf("got %v mA, want 12 as before: the loop current mode decides", got)
	}
	b.mustReconfigure(func(*device.Config) {})
	if n, _ := b.changes(); n != 1 {
		t.Errorf("counter %d, want 1: nothing has changed", n)
	}
	err := b.reconfigure(func(c *device.Config) { c.Polling = 64 })
	if want := "polling: got 64, want 0 to 63, as revision 7 has them"; err == nil || err.Error() != want || d.Polling() != 5 {
		t.Errorf("got  %v\nwant %s, and the address as before", err, want)
	}
	b.turns(7, []turn{{6, "00 01", 0, "="}})
	if d.Polling() != 0 {
		t.Errorf("polling address %d, want 0 as it was written then", d.Polling())
	}

	five := newBench(t, config(5))
	five.mustReconfigure(func(c *device.Config) { c.Polling = 3 })
	if got := five.devices[0].Transmitter().LoopCurrentMA(); got != 4 {
		t.Errorf("revision 5: got %v mA, want 4: a multidrop address parks", got)
	}
}

// What is set at the keypad is kept.
func TestKeypadIsKept(t *testing.T) {
	s := &shelf{}
	b := keeping(t, s, config(7))
	b.turns(7, []turn{{34, damping4hex, 0, "="}, {6, "07 01", 0, "="}})
	b.mustReconfigure(func(c *device.Config) { c.Transmitter.DampingS = 2 })
	m := s.kept[len(s.kept)-1]
	if m.Polling == nil || *m.Polling != 7 || m.DampingS != nil || m.Changes != 3 {
		t.Errorf("kept %+v, want the polling address, no damping and three changes", m)
	}
	s.err = errors.New("disk full")
	b.mustReconfigure(func(c *device.Config) { c.Transmitter.DampingS = 3 })
	b.line.Seats()[0].Wake()
	if reply := b.ask(b.request(1)); reply.Status.Device&frame.DeviceMalfunction == 0 {
		t.Error("no malfunction is told although nothing can be kept")
	}
}

const damping4hex = "40800000"

// What the description changes counts, whatever was written over the line; the rest of
// what was written stays.
func TestReconfigureDropsWhatWasWritten(t *testing.T) {
	b := newBench(t, config(7))
	b.turns(7, []turn{
		{34, damping4hex, 0, "="},
		{35, "0c 42480000 00000000", 0, "="}, // 0 to 50 kPa
		{22, "4e6577" + zeros29, 0, "="},     // New
		{6, "05 01", 0, "="},
	})
	b.mustReconfigure(func(c *device.Config) { c.Transmitter.DampingS = 2 })
	b.turns(7, []turn{
		{15, "", 0, "00 01 0c 42480000 00000000 40000000 00 fa 00"},
		{20, "", 0, "4e6577" + zeros29},
		{7, "", 0, "05 01"},
	})
	if n, told := b.changes(); n != 5 || told != [2]bool{true, true} {
		t.Errorf("counter %d, told %v, want 5 and both masters", n, told)
	}
	b.mustReconfigure(func(c *device.Config) { c.Transmitter.Range.Upper, c.Polling, c.LongTag = 200, 9, "Old" })
	b.turns(7, []turn{
		{15, "", 0, "00 01 0c 43480000 00000000 40000000 00 fa 00"},
		{20, "", 0, "4f6c64" + zeros29},
		{7, "", 0, "09 01"},
	})
}

const zeros29 = "0000000000000000000000000000000000000000000000000000000000"

// Every setting that a description may change has its effect at once.
func TestReconfigure(t *testing.T) {
	c := flowing(nil)
	c.Store, c.SaveEvery = nil, 0
	c.Transmitter.Controller = &transmitter.Controller{Mode: transmitter.Auto, SetPoint: 50, Manual: 30, Gain: 2, IntegralS: 20}
	b := newBench(t, c)
	b.line.Run(90 * sim.Second)
	d := b.devices[0]
	tr := d.Transmitter()
	output := func(name string) float64 {
		o, ok := tr.Output(name)
		if !ok {
			t.Fatalf("no output %q", name)
		}
		return o.Value
	}
	total := tr.Totals().Net
	for _, tt := range []struct {
		what   string
		change func(c *device.Config)
		got    func() float64
		want   float64
	}{
		{"range", func(c *device.Config) { c.Transmitter.Range.Upper = 200 }, tr.PercentOfRange, 35.355339},
		{"transfer function", func(c *device.Config) { c.Transmitter.Transfer.Power = 1 }, tr.PercentOfRange, 12.5},
		{"table", func(c *device.Config) { c.Transmitter.Table = []transmitter.Point{{X: 0, Y: 20}, {X: 100, Y: 100}} },
			tr.PercentOfRange, 30},
		{"loop current", func(c *device.Config) { c.LoopCurrent = false }, tr.LoopCurrentMA, 4},
		{"loop current again", func(c *device.Config) { c.LoopCurrent = true }, tr.LoopCurrentMA, 8.8},
		{"fixed current", func(c *device.Config) {
			c.Transmitter.Current.Mode, c.Transmitter.Current.HeldMA = transmitter.Fixed, 18
		}, tr.LoopCurrentMA, 18},
		{"modulated current", func(c *device.Config) { c.Transmitter.Current.Mode = transmitter.Modulated }, tr.LoopCurrentMA, 8.8},
		{"user unit", func(c *device.Config) {
			c.Transmitter.UserUnit = &transmitter.Scale{Upper: 1000, Unit: cubicMetrePerHour}
		},
			func() float64 { v, _ := tr.PrimaryVariable(); return v }, 300},
		{"low side", func(c *device.Config) { c.Transmitter.Sensor.LowSide = 5 }, tr.Value, 20},
		{"converter", func(c *device.Config) { c.Transmitter.Current.Converter.Offset = 0.5 },
			func() float64 { return tr.WireCurrentMA() - tr.LoopCurrentMA() }, 0.5},
		{"controller", func(c *device.Config) {
			own := *c.Transmitter.Controller
			own.Mode, own.Manual = transmitter.Manual, 70
			c.Transmitter.Controller = &own
		}, func() float64 { return output("controller") }, 70},
	} {
		b.mustReconfigure(tt.change)
		if tt.what == "low side" {
			b.line.Run(b.line.Now() + 60*sim.Second) // it is damped
			tr.To(b.line.Now())
		}
		if got := tt.got(); got < tt.want-1e-5 || got > tt.want+1e-5 {
			t.Errorf("%s: got %v, want %v", tt.what, got, tt.want)
		}
	}
	if got := tr.Totals().Net; got < total {
		t.Errorf("the total went from %v to %v", total, got)
	}
}

// A controller that is on stays where it is when something else is set, and when it
// is taken to manual by its mode alone.
func TestReconfigureLeavesTheControllerWhereItIs(t *testing.T) {
	c := config(7)
	c.Transmitter.Controller = &transmitter.Controller{Mode: transmitter.Auto, SetPoint: 60, Manual: 30, Gain: 1, IntegralS: 20}
	b := newBench(t, c)
	b.line.Run(40 * sim.Second)
	tr := b.devices[0].Transmitter()
	tr.To(b.line.Now())
	out := func() float64 { o, _ := tr.Output("controller"); return o.Value }
	before := out()
	if before < 40 {
		t.Fatalf("the controller is at %v, want it to have moved", before)
	}
	b.mustReconfigure(func(c *device.Config) { c.LongTag = "other" })
	b.mustReconfigure(func(c *device.Config) {
		own := *c.Transmitter.Controller
		own.Mode = transmitter.Manual
		c.Transmitter.Controller = &own
	})
	if got := out(); got != before {
		t.Errorf("the controller went from %v to %v", before, got)
	}
}

// What happens to a device is no change of its configuration.
func TestProcessIsNoConfiguration(t *testing.T) {
	b := newBench(t, config(7))
	b.mustReconfigure(func(*device.Config) {})
	b.mustReconfigure(func(c *device.Config) { c.Transmitter.Process.Model = process.Constant(64) })
	b.mustReconfigure(func(c *device.Config) { c.Latency, c.Transmitter.Sensor.AtC = 60*sim.Millisecond, 40 })
	b.mustReconfigure(func(c *device.Config) {
		c.Transmitter.Current.Mode, c.Transmitter.Current.HeldMA = transmitter.Fixed, 18
	})
	if n, told := b.changes(); n != 0 || told != [2]bool{} {
		t.Errorf("counter %d, told %v, want nothing", n, told)
	}
	heard, end := b.send(b.message(b.request(1)))
	if len(heard) != 1 || heard[0].Begin-end != 60*sim.Millisecond {
		t.Errorf("heard %+v, want a reply after 60 ms", heard)
	}
	b.line.Run(b.line.Now() + 60*sim.Second)
	b.turns(7, []turn{{1, "", 0, "0c 42800000"}})
}

// A current that a master holds for a test stays when something else at the output is
// set: so its converter is trimmed.
func TestReconfigureLeavesTheHeldCurrent(t *testing.T) {
	b := newBench(t, config(7))
	b.turns(7, []turn{{40, "40800000", 0, "="}})
	b.mustReconfigure(func(c *device.Config) { c.Transmitter.Current.Converter.Offset = 0.2 })
	b.turns(7, []turn{{45, "40866666", 0, "="}}) // it reads 4.2 mA
	if got := b.devices[0].Transmitter().WireCurrentMA(); got < 4-1e-4 || got > 4+1e-4 {
		t.Errorf("got %v mA, want 4", got)
	}
}

func TestReconfigureReplyPreambles(t *testing.T) {
	b := newBench(t, config(7))
	b.turns(7, []turn{{59, "0c", 0, "="}})
	b.mustReconfigure(func(c *device.Config) { c.ReplyPreambles = 9 })
	if heard, _ := b.send(b.message(b.request(0))); len(heard) != 1 || heard[0].Event.Preambles != 9 {
		t.Errorf("heard %+v, want 9 preambles", heard)
	}
}

func TestReconfigureBursts(t *testing.T) {
	b := newBench(t, config(7))
	b.turns(7, []turn{{108, "03 01", 0, "="}})
	b.mustReconfigure(func(c *device.Config) { c.Bursts = []device.Publication{{Command: 2}} })
	if heard := b.listen(sim.Second); len(heard) != 0 {
		t.Errorf("heard %+v before the device was woken", heard)
	}
	b.ask(b.request(0))
	if heard := b.listen(sim.Second); len(heard) == 0 || heard[0].Event.Frame.Command != 2 {
		t.Errorf("heard %+v, want command 2 to be published", heard)
	}
	b.turns(7, []turn{
		{105, "01", 0, "00 01 00 fa fa fa fa fa fa fa 01 03 00003e80 001d4c00 00 00 fa 00000000"},
		{109, "00 00", 0, "="},
	})
	b.mustReconfigure(func(c *device.Config) { c.Tag = "FT-9" })
	b.turns(7, []turn{{105, "00", 0, "00 02 00 01 02 fa fa fa fa fa 00 03 00003e80 001d4c00 00 00 fa 00000000"}})
}

// What makes the device stays, and what is wrong changes nothing.
func TestReconfigureRefuses(t *testing.T) {
	c := flowing(nil)
	c.Store, c.SaveEvery = nil, 0
	b := newBench(t, c)
	b.turns(7, []turn{{34, damping4hex, 0, "="}})
	before := snapshot(b, b.devices[0])
	config := *b.devices[0].Config()
	for _, tt := range []struct {
		spoil func(c *device.Config)
		want  string
	}{
		{func(c *device.Config) { c.DeviceID++ },
			"device_id: got 66052, want 66051, as it is: that makes the device, and stays while the line runs"},
		{func(c *device.Config) { c.Transmitter.Grid = time.Second },
			"grid_ms: got 1s, want 100ms, as it is: that makes the device, and stays while the line runs"},
		{func(c *device.Config) { c.Transmitter.Totaliser = nil },
			"totaliser: got none, want one, as it is: that makes the device, and stays while the line runs"},
		{func(c *device.Config) { c.Transmitter.Controller = &transmitter.Controller{Gain: 1} },
			"controller: got one, want none, as it is: that makes the device, and stays while the line runs"},
		{func(c *device.Config) { c.Transmitter.Sensor.Unit = 7 },
			"sensor.unit: got bar, want kPa, as it is: that makes the device, and stays while the line runs"},
		{func(c *device.Config) { c.Transmitter.Stages = []string{"sensor", "range", "output"} },
			"stages: got others, want those that there are: they make the device, and stay while the line runs"},
		{func(c *device.Config) { c.Polling = 64 }, "polling: got 64, want 0 to 63, as revision 7 has them"},
		{func(c *device.Config) { c.Transmitter.Range.Upper = 500 }, "range.upper: got 500 kPa, want -50 to 250 kPa, the sensor's limits"},
		{func(c *device.Config) { c.Transmitter.Process.Model = process.Constant(1e300) },
			"process.value: got 1e+300, want a number that a 32-bit float holds"},
	} {
		err := b.reconfigure(func(c *device.Config) {
			c.Transmitter.DampingS, c.LongTag = 9, "spoilt"
			tt.spoil(c)
		})
		var refused *setting.Error
		if err == nil || err.Error() != tt.want || !errors.As(err, &refused) {
			t.Errorf("got  %v\nwant %s", err, tt.want)
		}
	}
	after := snapshot(b, b.devices[0])
	for _, command := range []uint16{3, 110} { // the total goes on
		delete(before, command)
		delete(after, command)
	}
	if diff := cmp.Diff(before, after); diff != "" {
		t.Errorf("what was refused has changed -, +:\n%s", diff)
	}
	if got := *b.devices[0].Config(); !slices.Equal(got.Transmitter.Stages, config.Transmitter.Stages) || got.LongTag != config.LongTag {
		t.Errorf("the description is another one: %+v", got)
	}
}

// A setting that is right by itself, but not with what was written, is refused whole.
func TestReconfigureAgainstWhatWasWritten(t *testing.T) {
	b := newBench(t, config(7))
	b.turns(7, []turn{{35, "0c 43480000 00000000", 0, "="}}) // up to 200 kPa
	err := b.reconfigure(func(c *device.Config) {
		c.Transmitter.Sensor.Upper, c.Transmitter.DampingS = 150, 7
		c.Transmitter.Current.Mode, c.Transmitter.Current.HeldMA = transmitter.Fixed, 18
	})
	if want := "range.upper: got 200 kPa, want -50 to 150 kPa, the sensor's limits"; err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
	b.turns(7, []turn{
		{15, "", 0, "00 01 0c 43480000 00000000 3f000000 00 fa 00"},
		{14, "", 0, "010203 0c 437a0000 c2480000 3f800000"},
		{34, damping4hex, 0, "="},
	})
	if reply := b.ask(b.request(1)); reply.Status.Device&frame.LoopCurrentFixed != 0 {
		t.Error("the loop current is fixed")
	}
}

// What is set at the keypad while a write is being kept stays when that fails.
func TestKeypadDuringAWriteThatCannotBeKept(t *testing.T) {
	s := &shelf{takes: 3 * sim.Second, err: errors.New("disk full")}
	b := keeping(t, s, config(7))
	b.silent("a write that takes too long to keep", b.message(b.request(34, []byte(damping4)...)))
	b.mustReconfigure(func(c *device.Config) { c.Polling = 5 })
	b.line.Run(b.line.Now() + 5*sim.Second)
	b.turns(7, []turn{{15, "", 0, "00 01 0c 42c80000 00000000 3f000000 00 fa 00"}, {7, "", 0, "05 01"}})
	if n, _ := b.changes(); n != 1 {
		t.Errorf("counter %d, want 1: the write does not count", n)
	}
}

// From a new period on, totals are kept at that one.
func TestReconfigureSaving(t *testing.T) {
	s := &shelf{}
	b := keeping(t, s, flowing(s))
	b.line.Run(15 * sim.Second) // kept at 10 s
	b.mustReconfigure(func(c *device.Config) { c.SaveEvery = 2 * sim.Second })
	flushed := len(s.kept)
	b.ask(b.request(0)) // which takes 2 s
	b.line.Run(26 * sim.Second)
	if got := len(s.kept) - flushed; got != 5 {
		t.Errorf("kept %d times from 15 s to 26 s, want 5", got)
	}
}
