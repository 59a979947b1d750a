package live_test

import (
	"context"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"looptone/frame"
	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/live"
	"looptone/sim/master"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// A pipe is one end of two crossed wires that pace characters as a pty does.
type pipe struct {
	out, in chan frame.Arrival
}

func newPipe() (a, b *pipe) {
	there, back := make(chan frame.Arrival, 64), make(chan frame.Arrival, 64)
	return &pipe{there, back}, &pipe{back, there}
}

func (p *pipe) Arrivals() <-chan frame.Arrival { return p.in }

func (p *pipe) Send(ctx context.Context, at time.Time, _, _ time.Duration, chars []byte) error {
	for i, c := range chars {
		due := at.Add((sim.Tick(i+1) * sim.Character).Duration())
		select {
		case <-time.After(time.Until(due)):
		case <-ctx.Done():
			return ctx.Err()
		}
		select {
		case p.out <- frame.Arrival{At: time.Now(), Chars: []byte{c}}:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	return nil
}

func newDevice(t *testing.T) *device.Device {
	t.Helper()
	bar := unitOf(t, "bar")
	d, err := device.New(device.Config{
		Identity: device.Identity{Revision: 7, Maker: 249, Type: 0xf901, DeviceID: 7, Preambles: 5, ReplyPreambles: 5},
		Tag:      "PT-1", Date: "2031-03-01", Polling: 3, Latency: 40 * sim.Millisecond,
		Transmitter: transmitter.Config{
			Process: process.Config{Model: process.Constant(2.5)},
			Sensor:  transmitter.Sensor{Scale: transmitter.Scale{Upper: 10, Unit: bar}}, Range: transmitter.Scale{Upper: 10, Unit: bar},
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func unitOf(t testing.TB, symbol string) unit.Code {
	t.Helper()
	code, ok := unit.Lookup(symbol)
	if !ok {
		t.Fatalf("no unit %s", symbol)
	}
	return code
}

// TestMasterAndDeviceOnTwoLines joins two lines by a wire: a master on one finds
// the device on the other, at the response time that the device has.
func TestMasterAndDeviceOnTwoLines(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		here, there := newPipe()
		ctx, stop := context.WithCancel(t.Context())
		far := sim.NewLine(1)
		far.Join(newDevice(t))
		farRunner := live.NewRunner(far)
		farRunner.Attach("host", there, nil)
		ended := make(chan struct{})
		go func() { defer close(ended); farRunner.Run(ctx, nil) }()

		var found []master.Found
		scan := master.Scan{From: 2, To: 4, Retries: 2, Found: func(f master.Found) { found = append(found, f) }}
		m := master.New(master.Config{Lateness: sim.Ticks(time.Millisecond)}, scan.Run)
		near := sim.NewLine(1)
		near.Join(m)
		runner := live.NewRunner(near)
		runner.Attach("host", here, nil)
		runner.Run(ctx, m.Done)
		stop()
		<-ended

		if len(found) != 1 || found[0].Polling != 3 || found[0].Tag == nil || *found[0].Tag != "PT-1" {
			t.Fatalf("found %+v, want PT-1 at polling address 3", found)
		}
		if got := found[0].ResponseTime; got < 40*sim.Millisecond || got > 41*sim.Millisecond {
			t.Errorf("response time %v, want 40 ms", got.Duration())
		}
	})
}

// TestTwoMastersOnTwoWires: hosts at two ends of their own keep each other's
// turns, so that no request is lost and none asked twice.
func TestTwoMastersOnTwoWires(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		line := sim.NewLine(1)
		line.Join(newDevice(t))
		far := live.NewRunner(line)
		ctx, stop := context.WithCancel(t.Context())
		var hosts sync.WaitGroup
		for _, primary := range []bool{true, false} {
			here, there := newPipe()
			far.Attach("host", there, nil)
			hosts.Go(func() { scanOver(t, here, primary) })
		}
		ended := make(chan struct{})
		go func() { defer close(ended); far.Run(ctx, nil) }()
		hosts.Wait()
		stop()
		<-ended
	})
}

// scanOver scans through a wire and wants the one device that is there, at the
// first try.
func scanOver(t *testing.T, w live.Wire, primary bool) {
	var found []master.Found
	scan := master.Scan{From: 1, To: 6, Retries: 2, Found: func(f master.Found) { found = append(found, f) }}
	m := master.New(master.Config{Primary: primary, Lateness: sim.Ticks(time.Millisecond)}, scan.Run)
	defer m.Close()
	near := sim.NewLine(1)
	near.Join(m)
	runner := live.NewRunner(near)
	runner.Attach("host", w, nil)
	runner.Run(t.Context(), m.Done)
	if m.Err() != nil || len(found) != 1 || found[0].Polling != 3 || found[0].Tries != 1 || len(found[0].Unanswered) > 0 {
		t.Errorf("primary %v: found %+v, %v, want PT-1 at the first try", primary, found, m.Err())
	}
}

func TestWireThatEndsLeavesTheLine(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		here, there := newPipe()
		line := sim.NewLine(1)
		runner := live.NewRunner(line)
		gone := false
		runner.Attach("host", here, func() { gone = true })
		close(there.out)
		runner.Run(t.Context(), func() bool { return gone })
	})
}

// TestNobodyReads: a wire that takes nothing must not hold up the line.
func TestNobodyReads(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		line := sim.NewLine(1)
		talker := &chatter{}
		line.Join(talker)
		runner := live.NewRunner(line)
		runner.Attach("host", deaf{}, nil)
		runner.Run(t.Context(), func() bool { return line.Now() > 100*sim.Second })
		if talker.said < 900 {
			t.Errorf("%d bursts in 100 s, want one every 0.1 s", talker.said)
		}
	})
}

// chatter says a character ten times a second.
type chatter struct{ said int }

func (c *chatter) Step(now sim.Tick, _ []sim.Heard) (*sim.Burst, sim.Tick) {
	next := sim.Tick(c.said+1) * sim.Second / 10
	if now < next {
		return nil, next
	}
	c.said++
	return &sim.Burst{At: now, Chars: []byte{0xff}}, next + sim.Second/10
}

// deaf is a wire whose sends never end by themselves.
type deaf struct{}

func (deaf) Arrivals() <-chan frame.Arrival { return nil }

func (deaf) Send(ctx context.Context, _ time.Time, _, _ time.Duration, _ []byte) error {
	<-ctx.Done()
	return ctx.Err()
}
