package linefile_test

import (
	"strings"
	"testing"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/linefile"
	"looptone/sim/master"
)

func TestSet(t *testing.T) {
	d := parse(t, bench)
	a := assemble(t, d, nil)
	a.Line.Run(sim.Second)
	did(t, d, a, `{"set": "PT-1.process.value", "to": 7}`, "process.value of PT-1 is 7 from now on")
	a.Line.Run(2 * sim.Second)
	if got := value(a, 0); got != 7 {
		t.Errorf("got %v bar, want 7", got)
	}
	did(t, d, a, `{"set": "PT-1.user_unit", "to": {"lower": 0, "upper": 100, "unit": "%"}}`, "user_unit of PT-1 is as given from now on")
	did(t, d, a, `{"set": "PT-1.range", "to": {"lower": 0, "upper": 8e0}}`, "range of PT-1 is as given from now on")
	if got := value(a, 0); got != 87.5 {
		t.Errorf("got %v %%, want 87.5, 7 of 8 bar: what was set before stays", got)
	}
	did(t, d, a, `{"set": "PT-1.range.upper", "to": 10}`, "range.upper of PT-1 is 10 from now on")
	if got := value(a, 0); got != 70 {
		t.Errorf("got %v %%, want 70, 7 of 10 bar", got)
	}
}

func TestLinesOfOneDescription(t *testing.T) {
	d := parse(t, bench)
	a, b := assemble(t, d, nil), assemble(t, d, nil)
	did(t, d, a, `{"set": "PT-1.process.value", "to": 7}`, "process.value of PT-1 is 7 from now on")
	a.Line.Run(sim.Second)
	b.Line.Run(sim.Second)
	if value(a, 0) != 7 || value(b, 0) != 5 {
		t.Errorf("got %v and %v bar, want 7 and 5", value(a, 0), value(b, 0))
	}
	did(t, d, b, `{"set": "PT-1.damping_s", "to": 0.1}`, "damping_s of PT-1 is 0.1 from now on")
	b.Line.Run(5 * sim.Second)
	if value(b, 0) != 5 {
		t.Errorf("got %v bar, want 5 on the line on which the value was not set", value(b, 0))
	}
}

func TestSetASharedAddress(t *testing.T) {
	d := parse(t, bench)
	a := assemble(t, d, nil)
	did(t, d, a, `{"set": "TT-3.allow_duplicate", "to": true}`, "allow_duplicate of TT-3 is true from now on")
	did(t, d, a, `{"set": "PT-1.polling", "to": 3}`, "polling of PT-1 is 3 from now on")
	if got := who(t, a); got != "PT-1.A 3" {
		t.Errorf("got %s, want PT-1.A, and nothing that can be read at 3", got)
	}
}

func TestConstantKeepsTheFailure(t *testing.T) {
	d := parse(t, strings.Replace(bench, "value = 5.0 }", "value = 5.0, fails_at_s = 3 }", 1))
	a := assemble(t, d, nil)
	a.Line.Run(5 * sim.Second)
	did(t, d, a, `{"set": "PT-1.process.value", "to": 7}`, "process.value of PT-1 is 7 from now on")
	a.Line.Run(6 * sim.Second)
	tr := a.Devices[0].Transmitter()
	if tr.To(a.Line.Now()); !tr.Status().Malfunction {
		t.Error("the sensor works again")
	}
}

func TestTagsWithPoints(t *testing.T) {
	d := parse(t, bench)
	a := assemble(t, d, nil)
	did(t, d, a, `{"set": "PT-1.A.polling", "to": 0}`, "polling of PT-1.A is 0 from now on")
	if got := a.Devices[1].Polling(); got != 0 {
		t.Errorf("got polling address %d, want 0", got)
	}
	d = parse(t, strings.NewReplacer(`"PT-1"`, `"PT-1.A"`, `"PT-1.A"`, `"PT-1"`).Replace(bench))
	a = assemble(t, d, nil)
	did(t, d, a, `{"set": "PT-1.A.polling", "to": 0}`, "polling of PT-1.A is 0 from now on")
}

func TestProcessBecomesAConstant(t *testing.T) {
	d := parse(t, bench)
	a := assemble(t, d, nil)
	a.Line.Run(10 * sim.Second)
	did(t, d, a, `{"set": "PT-1.A.process.value", "to": 5}`, "process.value of PT-1.A is 5 from now on")
	did(t, d, a, `{"set": "TT-3.process.value", "to": 33.5}`, "process.value of TT-3 is 33.5 from now on")
	var sum float64
	first, same := 0.0, true
	for i := range 200 {
		a.Line.Run(sim.Tick(11+i) * sim.Second)
		v := value(a, 1)
		if i == 0 {
			first = v
		}
		sum, same = sum+v, same && v == first
		if got := value(a, 2); got != 33.5 {
			t.Fatalf("at %d s: got %v °C, want 33.5", 11+i, got)
		}
	}
	// 200 samples with a standard deviation of 0.5: 5 sigma of their mean are 0.18.
	if mean := sum / 200; mean < 4.82 || mean > 5.18 || same {
		t.Errorf("got a mean of %v bar, all the same %v, want 5 with noise", mean, same)
	}
}

func TestPlantKeepsItsValve(t *testing.T) {
	d := parse(t, bench)
	a := assemble(t, d, nil)
	did(t, d, a, `{"set": "PT-1.A.process", "to": {"model": "constant", "value": 5}}`, "process of PT-1.A is as given from now on")
	did(t, d, a, `{"set": "TT-3.process.rise", "to": 60}`, "process.rise of TT-3 is 60 from now on")
	a.Line.Run(60 * sim.Second)
	if got := value(a, 2); got < 49.99 || got > 50.01 {
		t.Errorf("got %v °C, want 50", got)
	}
}

func TestSetTakesBackWhatAHostWrote(t *testing.T) {
	d := parse(t, bench)
	polling, damping, other := uint8(5), 9.0, "FILTER 1"
	state := &linefile.State{Store: nowhere{}, Load: func(a frame.Address) (device.Memory, bool, error) {
		return device.Memory{Polling: &polling, DampingS: &damping, Descriptor: &other}, a.DeviceID() == 101, nil
	}}
	a, err := d.Assemble(nil, state)
	if err != nil {
		t.Fatal(err)
	}
	first := func() master.Found { t.Helper(); return scan(t, a, 0, 9)[0] }
	if f := first(); f.Polling != 2 { // PT-1 is at 5
		t.Fatalf("got polling address %d first, want 2", f.Polling)
	}
	did(t, d, a, `{"set": "PT-1.polling", "to": 1}`, "polling of PT-1 is 1 from now on")
	f := first()
	if f.Polling != 1 || f.Descriptor == nil || *f.Descriptor != other || f.Status&0x40 == 0 {
		t.Errorf("got %+v, want polling address 1, the descriptor as it was written, and configuration changed", f)
	}
}

func TestSetKnowsWhereDevicesAre(t *testing.T) {
	d := parse(t, bench)
	polling := uint8(5)
	a, err := d.Assemble(nil, &linefile.State{Store: nowhere{}, Load: func(a frame.Address) (device.Memory, bool, error) {
		return device.Memory{Polling: &polling}, a.DeviceID() == 101, nil
	}})
	if err != nil {
		t.Fatal(err)
	}
	fails(t, d, a, `{"set": "TT-3.polling", "to": 5}`,
		`1:31: polling address 5 is that of "PT-1": want another one, or allow_duplicate = true for one of the two`)
}
