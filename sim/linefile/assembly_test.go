package linefile_test

import (
	"errors"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/linefile"
	"looptone/sim/master"
	"looptone/sim/transmitter"
)

// nowhere keeps nothing.
type nowhere struct{}

func (nowhere) Save(frame.Address, device.Memory) device.Saving { return nil }

func TestDevicesRemember(t *testing.T) {
	tag := "PT-9"
	var asked []string
	state := &linefile.State{Store: nowhere{}, Load: func(a frame.Address) (device.Memory, bool, error) {
		asked = append(asked, a.String())
		return device.Memory{Tag: &tag}, a.DeviceID() == 101, nil
	}}
	a, err := parse(t, twins).Assemble(nil, state)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"3901000065", "3901000066"}, asked); diff != "" {
		t.Errorf("asked for: want -, got +:\n%s", diff)
	}
	for i, want := range []*string{&tag, nil} {
		c := a.Devices[i].Config()
		if c.Memory.Tag != want || c.Store != state.Store {
			t.Errorf("device %d: got memory %+v and store %v, want tag %v and the store of the state", i, c.Memory, c.Store, want)
		}
	}
}

func TestMemoryThatCannotBeRead(t *testing.T) {
	broken := errors.New("broken")
	_, err := parse(t, twins).Assemble(nil, &linefile.State{Store: nowhere{}, Load: func(frame.Address) (device.Memory, bool, error) {
		return device.Memory{}, false, broken
	}})
	if !errors.Is(err, broken) {
		t.Errorf("got error %v, want %v", err, broken)
	}
}

// What was right when it was written may be wrong by the description of today.
func TestMemoryThatIsWrong(t *testing.T) {
	_, err := parse(t, twins).Assemble(nil, &linefile.State{Store: nowhere{}, Load: func(frame.Address) (device.Memory, bool, error) {
		return device.Memory{Range: &transmitter.Scale{Lower: 0, Upper: 16, Unit: bar}}, true, nil
	}})
	const want = "PT-1, unique address 3901000065: what was written over the line does not go with the description any more: " +
		"range.upper: got 16 bar, want 0 to 10 bar, the sensor's limits"
	if err == nil || err.Error() != want {
		t.Errorf("got error %v\nwant %s", err, want)
	}
}

// heated is a line on which the current of 50 % opens the valve of a heating.
func heated(timeConstant, currentMode string) string {
	return `line = { name = "Bench" }
[[device]]
tag = "TT-1"
polling = 1
kind = "temperature"
sensor = { lower = 0.0, upper = 100.0, unit = "°C" }
process = { model = "thermal", ambient = 20.0, rise = 40.0, time_constant_s = ` + timeConstant + `, valve = "PT-2" }
[[device]]
tag = "PT-2"
polling = 2
kind = "gauge"
loop_current_mode = "` + currentMode + `"
sensor = { lower = 0.0, upper = 10.0, unit = "bar" }
process = { model = "constant", value = 5.0 }
`
}

// A current of 12 mA opens a valve half. After 30 time constants the process is
// where the valve holds it.
func TestCurrentOpensAValve(t *testing.T) {
	a := assemble(t, parse(t, heated("2", "modulated")), nil)
	temperature := a.Devices[0].Transmitter()
	temperature.To(60 * sim.Second)
	if got, _ := temperature.PrimaryVariable(); math.Abs(got-40) > 1e-9 {
		t.Errorf("got %v °C, want 40: half of the rise above ambient", got)
	}
}

// What settles at once is at the first moment where a parked valve, which is
// closed, holds it.
func TestParkedValveIsClosedFromTheBeginning(t *testing.T) {
	a := assemble(t, parse(t, heated("0", "fixed")), nil)
	if got, _ := a.Devices[0].Transmitter().PrimaryVariable(); got != 20 {
		t.Errorf("got %v °C, want 20, the ambient temperature", got)
	}
}

// From the moment on in which the sensor fails there is no measurement: the
// current says so, and so does every reply.
//
// Source: NAMUR NE 43, as summarised at industryhub.site/en/standards/namur-ne-43
// (a failure is above 21.0 mA); bit 7 of the field device status, device
// malfunction, as in frame/status.go.
func TestSensorFails(t *testing.T) {
	a := assemble(t, parse(t, one("gauge", `loop_current_mode = "modulated"
damping_s = 1
process = { model = "sine", low = 20, high = 30, period_s = 10, noise = 0.1, fails_at_s = 30 }`)), nil)
	tr := a.Devices[0].Transmitter()
	read := func(at sim.Tick) master.Found {
		t.Helper()
		a.Line.Run(at)
		found := scan(t, a, 1, 1)
		if len(found) != 1 || found[0].LoopCurrentMA == nil {
			t.Fatalf("found %+v, want T-1 with its loop current", found)
		}
		return found[0]
	}
	if f := read(20 * sim.Second); f.Status&0x80 != 0 || tr.Status().Malfunction || *f.LoopCurrentMA > 9 {
		t.Errorf("before: got device status %02x, %+v, %v mA, want no failure", byte(f.Status), tr.Status(), *f.LoopCurrentMA)
	}
	tr.To(30*sim.Second - 1)
	if tr.Status().Malfunction {
		t.Error("just before the moment: got a malfunction")
	}
	tr.To(30 * sim.Second)
	if !tr.Status().Malfunction || tr.WireCurrentMA() != 21.5 {
		t.Errorf("at the moment: got %+v and %v mA, want a malfunction and 21.5 mA", tr.Status(), tr.WireCurrentMA())
	}
	if f := read(40 * sim.Second); f.Status&0x80 == 0 || *f.LoopCurrentMA != 21.5 {
		t.Errorf("behind: got device status %02x and %v mA, want bit 80 and 21.5 mA", byte(f.Status), *f.LoopCurrentMA)
	}
}
