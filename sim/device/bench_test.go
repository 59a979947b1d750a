package device_test

import (
	"encoding/binary"
	"math"
	"slices"
	"testing"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

const kPa unit.Code = 12

// config is a device of a revision: a flow by differential pressure, 25 of 100 kPa,
// so 50 % and 12 mA; its current follows where it is not parked.
func config(revision uint8) device.Config {
	id := device.Identity{Revision: revision, Maker: 249, Type: 3, DeviceID: 0x010203,
		DeviceRevision: 2, SoftwareRevision: 4, HardwareRevision: 6, Preambles: 5, ReplyPreambles: 7}
	if revision >= 7 {
		id.Type = 0xf903
	}
	return device.Config{
		Identity: id, Tag: "FT-1", LongTag: "Größe 1", Descriptor: "DP", Message: "ABCD", Date: "2031-03-01",
		LoopCurrent: true, Latency: 40 * sim.Millisecond,
		Transmitter: transmitter.Config{
			Process:  process.Config{Model: process.Constant(25)},
			Sensor:   transmitter.Sensor{Scale: transmitter.Scale{Lower: -50, Upper: 250, Unit: kPa}, AtC: 20, MinimumSpan: 1},
			DampingS: 0.5,
			Range:    transmitter.Scale{Lower: 0, Upper: 100, Unit: kPa},
			Transfer: transmitter.Transfer{Power: 0.5},
		},
	}
}

// A bench is a line with devices on it.
type bench struct {
	*testing.T
	line    *sim.Line
	devices []*device.Device
}

func newBench(t *testing.T, configs ...device.Config) *bench {
	t.Helper()
	b := &bench{T: t, line: sim.NewLine(1)}
	for _, c := range configs {
		d, err := device.New(c)
		if err != nil {
			t.Fatal(err)
		}
		b.devices = append(b.devices, d)
		b.line.Join(d)
	}
	return b
}

// A probe is a station that sends one burst, once no carrier is on, and keeps what
// it hears.
type probe struct {
	burst *sim.Burst
	heard []sim.Heard
	busy  bool
}

func (p *probe) Step(now sim.Tick, heard []sim.Heard) (*sim.Burst, sim.Tick) {
	for _, h := range heard {
		if h.Carrier != 0 {
			p.busy = h.Carrier > 0
			continue
		}
		h.Event.Frame = h.Event.Frame.Clone()
		p.heard = append(p.heard, h)
	}
	if p.busy || p.burst == nil {
		return nil, sim.Never
	}
	b := p.burst
	b.At = max(b.At, now)
	p.burst = nil
	return b, sim.Never
}

// send puts chars on the line and gives what is heard within two seconds, and when
// the last of chars ended.
func (b *bench) send(chars []byte, marks ...frame.MarkAt) (heard []sim.Heard, end sim.Tick) {
	b.Helper()
	burst := &sim.Burst{At: b.line.Now(), Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: chars, Marks: marks}
	p := &probe{burst: burst}
	seat := b.line.Join(p)
	b.line.Run(b.line.Now() + 2*sim.Second)
	b.line.Leave(seat)
	return p.heard, burst.Start(len(chars))
}

// message is f behind five preambles.
func (b *bench) message(f frame.Frame) []byte {
	b.Helper()
	chars, err := f.AppendBinary(frame.AppendPreambles(nil, 5))
	if err != nil {
		b.Fatal(err)
	}
	return chars
}

// request is one of the primary master to the first device.
func (b *bench) request(command uint16, data ...byte) frame.Frame {
	f := frame.Frame{Kind: frame.STX, Address: b.devices[0].Config().Unique(), Primary: true}
	f.SetNumber(command, data)
	return f
}

// ask sends a request and gives the one reply to it.
func (b *bench) ask(f frame.Frame) frame.Frame {
	b.Helper()
	heard, _ := b.send(b.message(f))
	heard = slices.DeleteFunc(heard, isBACK)
	if len(heard) != 1 || heard[0].Event.Outcome != frame.Whole || heard[0].Event.Frame.Kind != frame.ACK {
		b.Fatalf("request %+v: heard %+v, want one reply", f, heard)
	}
	return heard[0].Event.Frame
}

// isBACK is for what a device publishes.
func isBACK(h sim.Heard) bool {
	return h.Event.Outcome == frame.Whole && h.Event.Frame.Kind == frame.BACK
}

// silent wants nobody to answer.
func (b *bench) silent(what string, chars []byte, marks ...frame.MarkAt) {
	b.Helper()
	if heard, _ := b.send(chars, marks...); len(heard) != 0 {
		b.Errorf("%s: heard %+v, want silence", what, heard)
	}
}

// code is the response code of a reply to the first device's command; a reply that
// tells an error has no data.
func (b *bench) code(command uint16, data ...byte) uint8 {
	b.Helper()
	reply := b.ask(b.request(command, data...))
	code, ok := reply.Status.Response.Code()
	if !ok {
		b.Fatalf("command %d: got communication errors %02x, want a response code", command, uint8(reply.Status.Response))
	}
	if !payload.Executed(code) && len(reply.Payload()) != 0 {
		b.Errorf("command %d: response code %d with data %x, want none", command, code, reply.Payload())
	}
	return code
}

// number is a 32-bit float of a reply.
func number(b []byte) float64 { return float64(math.Float32frombits(binary.BigEndian.Uint32(b))) }
