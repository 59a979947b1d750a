package device_test

import (
	"errors"
	"slices"
	"testing"

	"looptone/frame"
	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/transmitter"
)

// A shelf is a store whose savings end at a moment of line time, or fail.
type shelf struct {
	line  *sim.Line
	takes sim.Tick // how long a saving takes
	err   error
	kept  []device.Memory
	asked int // how often Done was asked
}

func (s *shelf) Save(_ frame.Address, m device.Memory) device.Saving {
	s.kept = append(s.kept, m)
	return &parcel{s, s.line.Now() + s.takes}
}

type parcel struct {
	*shelf
	done sim.Tick
}

func (p *parcel) Done() (bool, error) {
	p.asked++
	if p.line.Now() < p.done {
		return false, nil
	}
	return true, p.err
}

// keeping is a bench of one device with a store.
func keeping(t *testing.T, s *shelf, c device.Config) *bench {
	c.Store = s
	b := newBench(t, c)
	s.line = b.line
	return b
}

const damping4 = "\x40\x80\x00\x00"

// Source: FieldComm Group support article 8000040648 (slave time-out of 28
// characters, 256.7 ms).
func TestReplyWaitsUntilTheWriteIsDurable(t *testing.T) {
	for _, tt := range []struct {
		takes, storeTime, want sim.Tick // 0: no reply
	}{
		{0, 5 * sim.Millisecond, 40 * sim.Millisecond}, // the latency is longer
		{0, 60 * sim.Millisecond, 60 * sim.Millisecond},
		{100 * sim.Millisecond, 0, 100 * sim.Millisecond},
		{sim.Second, 0, 0},
	} {
		s := &shelf{takes: tt.takes}
		c := config(7)
		c.StoreTime = tt.storeTime
		b := keeping(t, s, c)
		heard, end := b.send(b.message(b.request(34, []byte(damping4)...)))
		switch {
		case tt.want == 0 && len(heard) != 0:
			t.Errorf("%+v: heard %+v, want the reply to be dropped", tt, heard)
		case tt.want > 0 && len(heard) != 1:
			t.Errorf("%+v: heard %+v, want one reply", tt, heard)
		case tt.want > 0:
			// It looks once a millisecond, and the carrier takes its time to come up.
			late := heard[0].Begin - end - tt.want
			if late < 0 || late > sim.Millisecond+sim.CarrierLead {
				t.Errorf("%+v: answered after %v", tt, (heard[0].Begin - end).Duration())
			}
		}
		if len(s.kept) != 1 || s.kept[0].DampingS == nil || *s.kept[0].DampingS != 4 {
			t.Errorf("%+v: kept %+v, want a damping of 4 s", tt, s.kept)
		}
		if got := b.ask(b.request(15)).Data[11:15]; !slices.Equal(got, []byte(damping4)) {
			t.Errorf("%+v: afterwards damping %x, want it as written", tt, got)
		}
	}
}

// While a reply waits, the device does not hear.
func TestWaitingDeviceDoesNotListen(t *testing.T) {
	s := &shelf{takes: 200 * sim.Millisecond}
	b := keeping(t, s, config(7))
	two := append(b.message(b.request(34, []byte(damping4)...)), b.message(b.request(1))...)
	if heard, _ := b.send(two); len(heard) > 1 || len(heard) == 1 && heard[0].Event.Frame.Command != 34 {
		t.Errorf("heard %+v, want the reply to the write at most", heard)
	}
}

// What cannot be kept was not written.
//
// Source: Flowserve LMENIM2340-00 p.25, common table 29 (non-volatile memory
// defect), common table 17 (08 failure, from p.57).
func TestWriteThatCannotBeKept(t *testing.T) {
	s := &shelf{err: errors.New("disk full")}
	b := keeping(t, s, config(7))
	if got := b.code(34, []byte(damping4)...); got != 6 {
		t.Errorf("got response code %d, want 6", got)
	}
	b.turns(7, []turn{
		{15, "", 0, "00 01 0c 42c80000 00000000 3f000000 00 fa 00"},
		{48, "", 0, "000000000000 08 00 02 00 00 00 00 00"},
	})
	reply := b.ask(b.request(0))
	if reply.Status.Device&(frame.DeviceMalfunction|frame.ConfigurationChanged) != frame.DeviceMalfunction || reply.Data[15] != 0 {
		t.Errorf("got status %v, counter %d, want a malfunction and nothing changed", reply.Status.Device.Names(), reply.Data[15])
	}
}

// What only lasts until the power is lost is not kept.
func TestTestsAreNotKept(t *testing.T) {
	s := &shelf{}
	b := keeping(t, s, config(7))
	b.turns(7, []turn{{40, "41800000", 0, "="}, {41, "", 0, ""}, {34, "40800000", 32, ""}, {1, "", 0, "0c 41c80000"}})
	if len(s.kept) != 0 {
		t.Errorf("kept %+v, want nothing", s.kept)
	}
}

// A device with what another one kept is the same device.
func TestMemoryComesBack(t *testing.T) {
	s := &shelf{}
	b := keeping(t, s, config(7))
	b.turns(7, []turn{
		{17, "0420c4" + "820820820820820820820820820820820820820820", 0, "="},
		{35, "0c 42480000 00000000", 0, "="},
		{6, "05 01", 0, "="},
		{51, "00 02", 0, "="},
		{53, "02 21", 0, "="},
		{108, "03 00", 0, "="},
		{38, "0006", 0, "="},
	})
	c := config(7)
	c.Memory = s.kept[len(s.kept)-1]
	again := newBench(t, c)
	again.turns(7, []turn{
		{12, "", 0, "0420c4" + "820820820820820820820820820820820820820820"},
		{15, "", 0, "00 01 0c 42480000 00000000 3f000000 00 fa 00"},
		{7, "", 0, "05 01"},
		{50, "", 0, "00 02 02 fa"},
		{33, "02", 0, "02 21 42880000"},
		{105, "00", 0, "00 03 00 fa fa fa fa fa fa fa 00 03 00003e80 001d4c00 00 00 fa 00000000"},
	})
	if reply := again.ask(again.request(0)); reply.Data[15] != 6 || reply.Status.Device&frame.ConfigurationChanged != 0 {
		t.Errorf("got counter %d, status %v, want 6 and no flag for the primary master", reply.Data[15], reply.Status.Device.Names())
	}
	second := again.request(0)
	second.Primary = false
	if reply := again.ask(second); reply.Status.Device&frame.ConfigurationChanged == 0 {
		t.Error("the secondary master is not told of the changes any more")
	}
}

const cubicMetrePerHour, cubicMetre unit.Code = 19, 43

// flowing is a device through which 60 m³/h flow.
func flowing(s device.Store) device.Config {
	c := config(7)
	c.Store, c.SaveEvery = s, 10*sim.Second
	c.Transmitter.UserUnit = &transmitter.Scale{Upper: 120, Unit: cubicMetrePerHour}
	c.Transmitter.Totaliser = &transmitter.Totaliser{Unit: cubicMetre}
	return c
}

func TestTotalsAreKeptFromTimeToTime(t *testing.T) {
	s := &shelf{}
	b := keeping(t, s, flowing(s))
	b.line.Run(61 * sim.Second)
	if len(s.kept) != 6 {
		t.Fatalf("kept %d times in 61 s, want 6", len(s.kept))
	}
	for i, m := range s.kept {
		want := float64(i+1) / 6 // m³: 1 a minute
		if m.Totals == nil || m.Totals.Net < want-0.002 || m.Totals.Net > want+1e-9 || m.Totals.Forward != m.Totals.Net {
			t.Errorf("after %d s: kept %+v, want %v m³", 10*(i+1), m.Totals, want)
		}
	}
	c := flowing(s)
	c.Memory = s.kept[5]
	again := keeping(t, &shelf{}, c)
	if got := again.devices[0].Transmitter().Totals(); got != s.kept[5].Totals.Totals {
		t.Errorf("begins again at %+v, want %+v", got, s.kept[5].Totals)
	}
	again.turns(7, []turn{{52, "03", 0, "="}})
	if got := again.devices[0].Transmitter().Totals().Net; got > 0.05 {
		t.Errorf("reset to %v m³, want 0 and what has flowed since", got)
	}
}

// What was added up goes on when a write cannot be kept, and comes back when it
// was to be set back.
func TestTotalsOfAWriteThatCannotBeKept(t *testing.T) {
	s := &shelf{}
	c := flowing(s)
	c.SaveEvery = 0
	c.Memory.Totals = &device.Totals{Totals: transmitter.Totals{Net: 100, Forward: 100}, Unit: cubicMetre}
	b := keeping(t, s, c)
	b.line.Run(600 * sim.Second)
	s.err = errors.New("disk full")
	total := func() transmitter.Totals {
		b.devices[0].Transmitter().To(b.line.Now())
		return b.devices[0].Transmitter().Totals()
	}
	for _, request := range []frame.Frame{b.request(34, []byte(damping4)...), b.request(52, 3)} {
		before := total().Net
		if reply := b.ask(request); reply.Status.Response != 6 {
			t.Errorf("command %d: got response %d, want 6", request.Command, reply.Status.Response)
		}
		if got := total().Net; got < before || got > before+0.1 {
			t.Errorf("command %d: the total went from %v to %v, want it to go on", request.Command, before, got)
		}
	}
	s.err = nil
	if code := b.code(52, 4); code != 0 || total().Net > 0.1 {
		t.Errorf("set back: code %d, total %v, want 0 and next to nothing", code, total().Net)
	}
	if b.devices[0].Transmitter().Status().Malfunction || b.ask(b.request(1)).Status.Device&frame.DeviceMalfunction != 0 {
		t.Error("a malfunction is told although the memory works again")
	}
}

// Totals and trims keep their unit, so that another one in the description does
// not make other numbers of them.
func TestMemoryKeepsItsUnits(t *testing.T) {
	s := &shelf{}
	b := keeping(t, s, flowing(s))
	b.line.Run(600 * sim.Second)
	m := s.kept[len(s.kept)-1]
	m.Trim = &device.SensorTrim{Trim: transmitter.Trim{Gain: 1, Offset: -2}, Unit: kPa}

	const litre, bar unit.Code = 41, 7
	c := flowing(s)
	c.Memory = m
	c.Transmitter.Totaliser.Unit = litre
	c.Transmitter.Sensor.Scale = transmitter.Scale{Lower: -0.5, Upper: 2.5, Unit: bar}
	c.Transmitter.Range = transmitter.Scale{Upper: 1, Unit: bar}
	c.Transmitter.Process.Model = constant(0.25)
	tr := keeping(t, &shelf{}, c).devices[0].Transmitter()
	if got, want := tr.Totals().Net, 1000*m.Totals.Net; got < want*0.999999 || got > want*1.000001 {
		t.Errorf("begins at %v L, want %v", got, want)
	}
	if got := tr.Value(); got < 0.2299999 || got > 0.2300001 {
		t.Errorf("reads %v bar, want 0.23: 25 kPa and a trim of -2 kPa", got)
	}
	c.Transmitter.Totaliser = nil
	c.Memory.Totals.Unit = litre
	if _, err := device.New(c); err != nil {
		t.Errorf("totals of a totaliser that is gone: %v", err)
	}
	wrong := flowing(s)
	wrong.Memory.Totals = &device.Totals{Unit: kPa}
	const want = "what was written over the line does not go with the description any more: " +
		"totaliser.unit: got m³, want a unit that kPa, in which there are totals, converts to"
	if _, err := device.New(wrong); err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}

// The unit that was written for a variable stays with it, whatever its code is.
func TestUnitsStayWithTheirVariable(t *testing.T) {
	s := &shelf{}
	b := keeping(t, s, flowing(s))
	b.turns(7, []turn{{53, "03 29", 0, "="}, {53, "02 21", 0, "="}})
	c := config(7)
	c.Memory = s.kept[len(s.kept)-1]
	c.Transmitter.Controller = &transmitter.Controller{Mode: transmitter.Manual, Manual: 40, Gain: 1}
	newBench(t, c).turns(7, []turn{{33, "03 02", 0, "03 39 42200000 02 21 42880000"}})
}

// A saving that fails when the reply was given up already is noticed all the same;
// until it is known how it went, nothing else is written.
func TestSavingThatFailsLate(t *testing.T) {
	s := &shelf{takes: 3 * sim.Second, err: errors.New("disk full")}
	b := keeping(t, s, config(7))
	b.silent("a write that takes too long to keep", b.message(b.request(34, []byte(damping4)...)))
	b.turns(7, []turn{{34, "40000000", 32, ""}})
	b.line.Run(b.line.Now() + 2*sim.Second)
	b.turns(7, []turn{
		{15, "", 0, "00 01 0c 42c80000 00000000 3f000000 00 fa 00"},
		{48, "", 0, "000000000000 08 00 02 00 00 00 00 00"},
	})
}

// A totals saving that fails is told too.
func TestTotalsThatCannotBeKept(t *testing.T) {
	s := &shelf{err: errors.New("disk full")}
	b := keeping(t, s, flowing(s))
	b.line.Run(25 * sim.Second)
	if reply := b.ask(b.request(1)); reply.Status.Device&frame.DeviceMalfunction == 0 {
		t.Errorf("got status %v, want a malfunction", reply.Status.Device.Names())
	}
	s.err = nil
	b.line.Run(b.line.Now() + 25*sim.Second)
	if reply := b.ask(b.request(1)); reply.Status.Device&frame.DeviceMalfunction != 0 {
		t.Errorf("got status %v, want no malfunction any more", reply.Status.Device.Names())
	}
}

// A reply that a fault makes later than the slave time-out waits for the store as
// well, and the device hears nothing until it is sent.
func TestLateReplyWithAStore(t *testing.T) {
	s := &shelf{}
	c := config(7)
	c.Trouble = trouble(device.Trouble{Delay: 90 * sim.Character})
	b := keeping(t, s, c)
	write := b.message(b.request(34, []byte(damping4)...))
	both := append(write, frame.AppendPreambles(nil, 30)...) // a request in between
	heard, _ := b.send(append(both, b.message(b.request(1))...))
	if len(heard) != 1 || heard[0].Event.Frame.Command != 34 || len(s.kept) != 1 {
		t.Errorf("heard %+v, kept %d, want the late reply to the write alone", heard, len(s.kept))
	}
}

// A write whose reply is swallowed by a fault is kept like any other.
func TestSwallowedReplyWithAStore(t *testing.T) {
	s := &shelf{err: errors.New("disk full")}
	c := config(7)
	c.Trouble = trouble(device.Trouble{Silent: true})
	b := keeping(t, s, c)
	b.silent("a write", b.message(b.request(34, []byte(damping4)...)))
	if got := *b.devices[0].Config(); got.Transmitter.DampingS != 0.5 || b.devices[0].Transmitter().Config().DampingS != 0.5 {
		t.Errorf("damping is %v, want 0.5 as before: it could not be kept", b.devices[0].Transmitter().Config().DampingS)
	}
}

// Totals outlast a description without a totaliser, and writes meanwhile.
func TestTotalsOutlastADescriptionWithoutThem(t *testing.T) {
	kept := &device.Totals{Totals: transmitter.Totals{Net: 600, Forward: 610}, Unit: cubicMetre}
	s := &shelf{}
	c := config(7)
	c.Memory.Totals = kept
	b := keeping(t, s, c)
	b.turns(7, []turn{{34, "40800000", 0, "="}})
	c = flowing(s)
	c.Memory = s.kept[0]
	if got := keeping(t, s, c).devices[0].Transmitter().Totals(); got != kept.Totals {
		t.Errorf("begins again at %+v, want %+v", got, kept.Totals)
	}
}

// What was assigned is a variable, not a place in the list of variables.
func TestAssignmentsStayWithTheirVariable(t *testing.T) {
	s := &shelf{}
	c := config(7)
	c.Transmitter.Controller = &transmitter.Controller{Mode: transmitter.Manual, Manual: 40, Gain: 1}
	b := keeping(t, s, c)
	b.turns(7, []turn{{51, "00 03 01 02", 0, "="}, {107, "03 01 fa fa fa fa fa fa 00", 0, "="}})
	kept := s.kept[1]

	more := flowing(s)
	more.Transmitter.Controller = c.Transmitter.Controller
	more.Memory = kept
	keeping(t, s, more).turns(7, []turn{
		{50, "", 0, "00 05 01 02"},
		{105, "00", 0, "00 01 05 01 fa fa fa fa fa fa 00 03 00003e80 001d4c00 00 00 fa 00000000"},
	})
	less := config(7)
	less.Memory = kept
	keeping(t, s, less).turns(7, []turn{
		{50, "", 0, "00 fa fa fa"},
		{3, "", 0, "41400000 0c41c80000"},
	})
}

// While one saving of totals goes on no other is begun, and how it ends is seen.
func TestSlowSavingOfTotals(t *testing.T) {
	s := &shelf{takes: 25 * sim.Second, err: errors.New("disk full")}
	b := keeping(t, s, flowing(s))
	b.line.Run(29 * sim.Second)
	if len(s.kept) != 1 {
		t.Errorf("%d savings in 29 s of which each takes 25 s, want 1", len(s.kept))
	}
	b.line.Run(41 * sim.Second)
	if reply := b.ask(b.request(1)); reply.Status.Device&frame.DeviceMalfunction == 0 {
		t.Errorf("got status %v, want a malfunction", reply.Status.Device.Names())
	}
}
