package linefile_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"looptone/sim"
	"looptone/sim/linefile"
)

// bench is a line on which actions are tried.
const bench = `line = { name = "Bench" }
[[device]]
tag = "PT-1"
polling = 1
kind = "gauge"
sensor = { lower = 0.0, upper = 10.0, unit = "bar" }
process = { model = "constant", value = 5.0 }
[[device]]
tag = "PT-1.A"
polling = 2
kind = "gauge"
loop_current_mode = "modulated"
sensor = { lower = 0.0, upper = 10.0, unit = "bar" }
process = { model = "sine", low = 2, high = 8, period_s = 20, noise = 0.5 }
[[device]]
tag = "TT-3"
polling = 3
kind = "temperature"
revision = 5
sensor = { lower = 0.0, upper = 100.0, unit = "°C" }
process = { model = "thermal", ambient = 20.0, rise = 40.0, time_constant_s = 2, valve = "PT-1.A" }
`

// do reads a JSON object and does it.
func do(t *testing.T, d *linefile.Description, a *linefile.Assembly, text string) (did string, err error) {
	t.Helper()
	x, err := d.ReadAction("control", 1, []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return a.Do(x)
}

// did does it, and wants the sentence.
func did(t *testing.T, d *linefile.Description, a *linefile.Assembly, text, want string) {
	t.Helper()
	if got, err := do(t, d, a, text); err != nil || got != want {
		t.Errorf("%s\ngot  %q, %v\nwant %q", text, got, err, want)
	}
}

// fails does it, and wants the sentence that says why not.
func fails(t *testing.T, d *linefile.Description, a *linefile.Assembly, text, want string) {
	t.Helper()
	_, err := do(t, d, a, text)
	var refused *linefile.Error
	if !errors.As(err, &refused) || err.Error() != "control:"+want {
		t.Errorf("%s\ngot  %v\nwant control:%s", text, err, want)
	}
}

// who are the tags of those that answer at polling addresses 0 to 3.
func who(t *testing.T, a *linefile.Assembly) string {
	t.Helper()
	var tags []string
	for _, f := range scan(t, a, 0, 3) {
		tag := fmt.Sprint(f.Polling)
		if f.Tag != nil {
			tag = *f.Tag
		}
		tags = append(tags, tag)
	}
	return strings.Join(tags, " ")
}

// value is the primary variable of device i at the line's present time.
func value(a *linefile.Assembly, i int) float64 {
	tr := a.Devices[i].Transmitter()
	tr.To(a.Line.Now())
	v, _ := tr.PrimaryVariable()
	return v
}

func TestMute(t *testing.T) {
	d := parse(t, bench)
	a := assemble(t, d, nil)
	did(t, d, a, `{"mute": "PT-1"}`, "PT-1 is silent from now on")
	if got := who(t, a); got != "PT-1.A TT-3" {
		t.Errorf("muted: got %s, want PT-1.A and TT-3", got)
	}
	did(t, d, a, `{"unmute": "PT-1"}`, "PT-1 is heard again from now on")
	if got := who(t, a); got != "PT-1 PT-1.A TT-3" {
		t.Errorf("unmuted: got %s, want all", got)
	}
}

// A description can be assembled twice, and what happens to one line does not to
// the other.
// A fault that a file adds later gets its name on each line anew.
func TestNamesOnLinesOfOneDescription(t *testing.T) {
	d := parse(t, bench+"[[at]]\ntime = 5\nfault = { kind = \"busy\", device = \"TT-3\" }\n")
	a, b := assemble(t, d, nil), assemble(t, d, nil)
	did(t, d, a, `{"fault": {"kind": "busy", "device": "PT-1"}}`, `"busy" strikes PT-1 from now on`)
	for _, l := range []struct {
		line *linefile.Assembly
		want string
	}{{a, `"busy" strikes TT-3 from now on, by the name "busy 2"`}, {b, `"busy" strikes TT-3 from now on`}} {
		var told string
		l.line.Report = func(_ sim.Tick, did string, _ error) { told = did }
		if l.line.Line.Run(10 * sim.Second); told != l.want {
			t.Errorf("got  %q\nwant %q", told, l.want)
		}
	}
}

// Two devices share an address where the file allows it, or where that is set.
// A sensor that has failed is not mended by another process.
// The tag of a device may hold points, and be the beginning of another one's.
// What was a sine with noise is a constant with noise; a process that a valve acted
// on is a constant that none does.
// Another number of a plant begins it anew, and its valve goes on acting on it: half
// open, it holds half of the rise.
// The faults and actions of a file strike when their time has come.
func TestTimedActions(t *testing.T) {
	d := parse(t, bench+`
[[at]]
time = "20s"
set = "PT-1.process.value"
to = 1
[[at]]
time = "10s"
set = "PT-1.process.value"
to = 2
[[at]]
time = "20s"
set = "PT-1.process.value"
to = 3
[[at]]
time = 30
fault = { kind = "no reply", device = "PT-1" }
[[at]]
time = "40s"
remove = "no reply"
`)
	a := assemble(t, d, nil)
	var told []string
	a.Report = func(at sim.Tick, did string, err error) {
		told = append(told, fmt.Sprint(at.Seconds(), " ", did, " ", err))
	}
	var values []float64
	for s := range sim.Tick(26) {
		a.Line.Run(s*sim.Second + sim.Second/2)
		if v := value(a, 0); len(values) == 0 || values[len(values)-1] != v {
			values = append(values, v)
		}
	}
	if !slices.Equal(values, []float64{5, 2, 3}) {
		t.Errorf("got %v bar one after the other, want 5, 2, 3", values)
	}
	a.Line.Run(30 * sim.Second)
	if got := who(t, a); got != "PT-1.A TT-3" {
		t.Errorf("with the fault: got %s, want PT-1.A and TT-3", got)
	}
	a.Line.Run(40 * sim.Second)
	if got := who(t, a); got != "PT-1 PT-1.A TT-3" {
		t.Errorf("without the fault: got %s, want all", got)
	}
	want := []string{
		"10 process.value of PT-1 is 2 from now on <nil>",
		"20 process.value of PT-1 is 1 from now on <nil>",
		"20 process.value of PT-1 is 3 from now on <nil>",
		`30 "no reply" strikes PT-1 from now on <nil>`,
		`40 fault "no reply" is gone from now on <nil>`,
	}
	if !slices.Equal(told, want) {
		t.Errorf("got  %q\nwant %q", told, want)
	}
}

// What is given while the line runs is done when its time comes, in the order in
// which it was given.
func TestActionsForLater(t *testing.T) {
	d := parse(t, bench)
	a := assemble(t, d, nil)
	var told []string
	a.Report = func(at sim.Tick, did string, err error) {
		told = append(told, fmt.Sprint(at.Seconds(), " ", did, " ", err))
	}
	a.Line.Run(5 * sim.Second)
	did(t, d, a, `{"time": "14s", "mute": "PT-1"}`, "PT-1 is silent from 14 s on")
	did(t, d, a, `{"time": 12.5, "mute": "TT-3"}`, "TT-3 is silent from 12.5 s on")
	did(t, d, a, `{"time": 14, "unmute": "PT-1"}`, "PT-1 is heard again from 14 s on")
	did(t, d, a, `{"time": 5, "mute": "PT-1.A"}`, "PT-1.A is silent from 5 s on")
	fails(t, d, a, `{"time": 4.5, "mute": "PT-1"}`, "1:10: time: got 4.5 s, want 5 s, the line's present time, or later")
	a.Line.Run(5*sim.Second + 200_040*sim.Microsecond - 1)
	fails(t, d, a, `{"time": 4.5, "mute": "PT-1"}`, "1:10: time: got 4.5 s, want 5.20004 s, the line's present time, or later")
	a.Line.Run(13 * sim.Second)
	did(t, d, a, `{"unmute": "PT-1.A"}`, "PT-1.A is heard again from now on")
	a.Line.Run(20 * sim.Second)
	want := []string{"5 PT-1.A is silent from now on <nil>", "12.5 TT-3 is silent from now on <nil>",
		"14 PT-1 is silent from now on <nil>", "14 PT-1 is heard again from now on <nil>"}
	if !slices.Equal(told, want) {
		t.Errorf("got  %q\nwant %q", told, want)
	}
	if got := who(t, a); got != "PT-1 PT-1.A" {
		t.Errorf("got %s, want PT-1 and PT-1.A", got)
	}
}

// What will be wrong by then is refused at once: it counts what is to be done
// before.
func TestForeseen(t *testing.T) {
	d := parse(t, bench)
	a := assemble(t, d, nil)
	did(t, d, a, `{"fault": {"kind": "noise"}}`, `"noise" strikes the line from now on`)
	did(t, d, a, `{"time": 1, "remove": "noise"}`, `fault "noise" is gone from 1 s on`)
	a.Line.Run(2 * sim.Second)
	fails(t, d, a, `{"time": 10, "remove": "busy"}`, `1:24: no fault is named "busy": there is none`)
	did(t, d, a, `{"time": 9, "fault": {"kind": "busy", "device": "TT-3"}}`, `"busy" strikes TT-3 from 9 s on`)
	did(t, d, a, `{"time": 10, "remove": "busy"}`, `fault "busy" is gone from 10 s on`)
	fails(t, d, a, `{"time": 8, "remove": "busy"}`, `1:23: no fault is named "busy": there is none`)
	did(t, d, a, `{"time": 9, "set": "PT-1.polling", "to": 0}`, `polling of PT-1 is 0 from 9 s on`)
	fails(t, d, a, `{"time": 10, "set": "TT-3.polling", "to": 0}`,
		`1:43: polling address 0 is that of "PT-1": want another one, or allow_duplicate = true for one of the two`)
	did(t, d, a, `{"time": 8, "set": "TT-3.polling", "to": 0}`, `polling of TT-3 is 0 from 8 s on`)
	var told []string
	a.Report = func(at sim.Tick, did string, err error) {
		if err != nil {
			told = append(told, err.Error())
		}
	}
	a.Line.Run(20 * sim.Second)
	want := []string{`control:1:42: polling address 0 is that of "TT-3": want another one, or allow_duplicate = true for one of the two`}
	if !slices.Equal(told, want) || a.Devices[0].Polling() != 1 {
		t.Errorf("got  %q, polling address %d\nwant %q and 1", told, a.Devices[0].Polling(), want)
	}
}

// A fault gets a name by which it can be removed.
func TestFaultsComeAndGo(t *testing.T) {
	d := parse(t, bench)
	a := assemble(t, d, nil)
	did(t, d, a, `{"fault": {"kind": "no reply", "device": "TT-3"}}`, `"no reply" strikes TT-3 from now on`)
	did(t, d, a, `{"fault": {"kind": "no reply", "device": "PT-1"}}`, `"no reply" strikes PT-1 from now on, by the name "no reply 2"`)
	fails(t, d, a, `{"fault": {"kind": "busy", "device": "PT-1", "name": "no reply 2"}}`,
		`1:54: name: got "no reply 2", want another name: there is a fault of this name`)
	if got := who(t, a); got != "PT-1.A" {
		t.Errorf("got %s, want PT-1.A", got)
	}
	did(t, d, a, `{"remove": "no reply 2"}`, `fault "no reply 2" is gone from now on`)
	fails(t, d, a, `{"remove": "no reply 2"}`, `1:12: no fault is named "no reply 2", want one of no reply`)
	if got := who(t, a); got != "PT-1 PT-1.A" {
		t.Errorf("got %s, want PT-1 and PT-1.A", got)
	}
	did(t, d, a, `{"fault": {"kind": "bit errors", "talker": "host"}}`, `"bit errors" strikes every host from now on`)
	did(t, d, a, `{"fault": {"kind": "noise"}}`, `"noise" strikes the line from now on`)
	fails(t, d, a, `{"fault": {"kind": "busy", "device": "PT-1", "until": 0.5}}`,
		`1:55: until: got 500ms, want later than `+a.Line.Now().Duration().String()+`, the line's present time`)
}

// A cut takes the devices behind it, in the order of the wires.
func TestMove(t *testing.T) {
	d := parse(t, bench)
	a := assemble(t, d, nil)
	did(t, d, a, `{"fault": {"kind": "line cut", "behind": "PT-1"}}`, `"line cut" strikes the line from now on`)
	if got := who(t, a); got != "PT-1" {
		t.Errorf("cut: got %s, want PT-1", got)
	}
	did(t, d, a, `{"move": "TT-3"}`, "TT-3 is the first on the wires from now on")
	if got := who(t, a); got != "PT-1 TT-3" {
		t.Errorf("TT-3 moved: got %s, want PT-1 and TT-3", got)
	}
	did(t, d, a, `{"move": "PT-1.A", "behind": "TT-3"}`, "PT-1.A hangs behind TT-3 from now on")
	if got := who(t, a); got != "PT-1 PT-1.A TT-3" {
		t.Errorf("both moved: got %s, want all", got)
	}
}

// A clock that notes what was asked of it.
type clock struct {
	did  []string
	says error
}

func (c *clock) Stop() error { c.did = append(c.did, "stop"); return c.says }
func (c *clock) Go() error   { c.did = append(c.did, "go"); return c.says }

func TestStopAndGo(t *testing.T) {
	d := parse(t, bench)
	a := assemble(t, d, nil)
	fails(t, d, a, `{"stop": true}`, "1:10: line time cannot stand still here: it is computed, and follows no clock")
	fails(t, d, a, `{"go": true}`, "1:8: line time cannot stand still here: it is computed, and follows no clock")
	c := &clock{}
	a.Clock = c
	did(t, d, a, `{"stop": true}`, "line time stands still from now on")
	did(t, d, a, `{"go": true}`, "line time goes on")
	did(t, d, a, `{"time": 3, "stop": true}`, "line time stands still from 3 s on")
	a.Line.Run(5 * sim.Second)
	if !slices.Equal(c.did, []string{"stop", "go", "stop"}) {
		t.Errorf("the clock was asked to %v, want stop, go, stop", c.did)
	}
	c.says = errors.New("a wire leads outside, where time goes on")
	fails(t, d, a, `{"stop": true}`, "1:10: a wire leads outside, where time goes on")
}

// What is refused has changed nothing.
func TestRefusedActionsChangeNothing(t *testing.T) {
	d := parse(t, bench)
	a := assemble(t, d, nil)
	fails(t, d, a, `{"set": "PT-1.range", "to": {"lower": 0, "upper": 11}}`,
		"1:51: range.upper: got 11 bar, want 0 to 10 bar, the sensor's limits")
	fails(t, d, a, `{"set": "PT-1.process.value", "to": "high"}`, `1:37: process.value: got the string "high", want a number`)
	fails(t, d, a, `{"set": "PT-1.device_id", "to": 1}`,
		`1:33: device_id: got 1, want 101, as it is: that makes the device, and stays while the line runs`)
	fails(t, d, a, `{"set": "PT-1.controller.set_point_percent", "to": 40}`,
		`1:9: "device.controller" has no mode, want for instance "mode": "auto"`)
	a.Line.Run(sim.Second)
	if got := value(a, 0); got != 5 || who(t, a) != "PT-1 PT-1.A TT-3" {
		t.Errorf("got %v bar and %s, want 5 and all", got, who(t, a))
	}
}

// What a host has written counts no more when it is set at the device, whether the
// description says so already or not; and the masters are told.
// The polling address counts that a device has now, not the one that it was
// described with.
