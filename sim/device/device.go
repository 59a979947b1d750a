// Package device is a field device on a line: it hears requests, carries out
// their commands, and replies.
package device

import (
	"errors"
	"math/rand/v2"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/transmitter"
)

// A Device is a slave with a transmitter behind it. It is a [sim.Station].
type Device struct {
	cfg         Config
	unique      frame.Address
	polling     uint8
	loopCurrent bool // loop current mode: enabled
	transmitter *transmitter.Transmitter
	changes     uint16                // configuration change counter
	flags       [2]frame.DeviceStatus // cold start and configuration changed, for the secondary and the primary master
	chance      *rand.Rand

	sending sim.Tick // until then a reply is due or on the line
	request []byte   // data of the request that is being answered
	chars   []byte
	data    []byte
}

// New is a device that was just switched on. An error is a
// [*setting.Error].
func New(c Config) (*Device, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	t, err := transmitter.New(c.Transmitter)
	if err != nil {
		return nil, err
	}
	d := &Device{cfg: c, unique: c.Unique(), polling: c.Polling, loopCurrent: c.LoopCurrent, transmitter: t,
		chance: rand.New(rand.NewPCG(c.Seed, uint64(c.DeviceID)))}
	d.flags = [2]frame.DeviceStatus{frame.ColdStart, frame.ColdStart}
	d.park(0)
	return d, nil
}

// Config is what the device was made from.
func (d *Device) Config() *Config { return &d.cfg }

// Polling is the polling address that the device has now.
func (d *Device) Polling() uint8 { return d.polling }

// Transmitter is what stands between the device's sensor and its loop current.
func (d *Device) Transmitter() *transmitter.Transmitter { return d.transmitter }

// park lets the loop current follow the percentage or parks it.
//
// Source: Siemens Pointek CLS500 7ML19985GG03 p.30 (multidrop devices are parked
// at 4 mA); from memory that the loop current mode alone decides from revision 6 on.
func (d *Device) park(now sim.Tick) {
	modulated := d.loopCurrent
	if d.cfg.Revision == 5 {
		modulated = d.polling == 0
	}
	mode := transmitter.Fixed
	if modulated {
		mode = transmitter.Modulated
	}
	// What was accepted before is so with another mode.
	_ = d.transmitter.Set(now, func(c *transmitter.Config) { c.Current.Mode = mode })
}

// Step answers requests.
func (d *Device) Step(now sim.Tick, heard []sim.Heard) (*sim.Burst, sim.Tick) {
	var reply *sim.Burst
	for i := range heard {
		if b := d.hear(now, &heard[i]); b != nil {
			reply = b
		}
	}
	return reply, sim.Never
}

// hear is the reply to what was heard, if it was a request that the device
// answers. A device that has a reply to send does not listen.
func (d *Device) hear(now sim.Tick, h *sim.Heard) *sim.Burst {
	request := &h.Event.Frame
	if now < d.sending || request.Kind != frame.STX || !d.isMeant(request) {
		return nil
	}
	d.transmitter.To(h.End)
	switch h.Event.Outcome {
	case frame.Whole:
		if response, data, ok := d.answer(h.End, request); ok {
			return d.reply(h.End, request, response, data)
		}
	case frame.Damaged:
		if isCounted(&h.Event) {
			return d.reply(h.End, request, h.Event.Faults.Response(), nil)
		}
	}
	return nil
}

// isMeant reports whether a request is for this device: its polling address
// asks for command 0 only, and a device that does not know the expansion bytes
// stays silent.
//
// Source: Chinese "HART communication protocol VER 1.6" guide, and reading notes
// on the data link layer document (blog post 139347795).
func (d *Device) isMeant(f *frame.Frame) bool {
	if len(f.Expansion) > 0 {
		return false
	}
	if polling, ok := f.Address.IsPolling(); ok {
		return polling == d.polling && f.Command == 0
	}
	return f.Address == d.unique || f.Address.IsBroadcast()
}

// isCounted reports whether a request is damaged only behind its byte count, and
// was heard to its end, so that the device knows that it was meant. A broadcast
// never is: what is damaged may be the tag.
//
// Source: reading notes on the data link layer document (blog post 139347795);
// broadcasts from memory.
func isCounted(ev *frame.Event) bool {
	var fault *frame.FaultError
	if ev.Frame.Address.IsBroadcast() || !errors.As(ev.Err, &fault) || fault.Field <= frame.FieldByteCount ||
		errors.Is(fault, frame.ErrGap) || errors.Is(fault, frame.ErrCut) {
		return false
	}
	count := 3 // delimiter, address, command
	if _, short := ev.Frame.Address.IsPolling(); !short {
		count = 7
	}
	return len(ev.Raw) == count+1+int(ev.Raw[count])+1
}

// reply is the burst that answers a request that ended at moment end; nil where
// a fault swallows it.
func (d *Device) reply(end sim.Tick, request *frame.Frame, response frame.Response, data []byte) *sim.Burst {
	delay, swallowed := d.strike()
	if swallowed {
		return nil
	}
	f := frame.Frame{Kind: frame.ACK, Address: request.Address, Primary: request.Primary,
		Status: d.statusOf(response, request.Primary)}
	if request.Address.IsBroadcast() {
		f.Address = d.unique
	}
	f.Command, f.Data = request.Command, data
	if number := number(request); number != nil {
		f.Data = append(number, data...)
	}
	d.chars = frame.AppendPreambles(d.chars[:0], int(d.cfg.ReplyPreambles))
	var err error
	if d.chars, err = f.AppendBinary(d.chars); err != nil {
		panic(err) // data are no longer than a layout, and that fits
	}
	b := &sim.Burst{At: end + d.cfg.Latency + delay - sim.CarrierLead, Lead: sim.CarrierLead, Tail: sim.CarrierTail,
		Chars: d.chars, Level: d.cfg.Level}
	d.sending = b.Off()
	return b
}

// number is what leads the data of a reply to an extended command: its number,
// with and without success; from memory.
func number(request *frame.Frame) []byte {
	if n := len(request.Data) - len(request.Payload()); n > 0 {
		return request.Data[:n:n]
	}
	return nil
}

// statusOf is the two status bytes of a reply to a master. In revision 5 the
// second one is 0 beside communication errors; what such a reply tells, a host
// discards.
//
// Source: Spectrum Controls 1756sc manual appendix D p.145 (0 in revision 5);
// Allen-Bradley 1770-HT8 p.4-12 (discarded).
func (d *Device) statusOf(response frame.Response, primary bool) frame.Status {
	s := frame.Status{Response: response}
	if _, ok := response.Code(); ok {
		s.Device = d.status(primary)
	} else if d.cfg.Revision > 5 {
		s.Device = *d.flagsOf(primary) | d.transmitterStatus()
	}
	return s
}

// strike lets the faults strike one reply.
func (d *Device) strike() (delay sim.Tick, swallowed bool) {
	for _, f := range d.cfg.Faults {
		if f.Probability < 1 && d.chance.Float64() >= f.Probability {
			continue
		}
		switch f.Kind {
		case LateReply:
			delay += f.Delay
		case NoReply:
			swallowed = true
		}
	}
	return delay, swallowed
}

// status is the field device status for a master, which has been told then of
// the cold start.
//
// Source: Allen-Bradley 1794-UM063A p.C-6 (cleared by the first command that
// reports it); one flag per master from memory.
func (d *Device) status(primary bool) frame.DeviceStatus {
	flags := d.flagsOf(primary)
	s := *flags | d.transmitterStatus()
	*flags &^= frame.ColdStart
	return s
}

// transmitterStatus is the part of the field device status that speaks of the
// transmitter.
func (d *Device) transmitterStatus() (s frame.DeviceStatus) {
	now := d.transmitter.Status()
	if now.CurrentFixed {
		s |= frame.LoopCurrentFixed
	}
	if now.CurrentSaturated {
		s |= frame.LoopCurrentSaturated
	}
	if now.OutOfLimits {
		s |= frame.PrimaryVariableOutOfLimits
	}
	return s
}

func (d *Device) flagsOf(primary bool) *frame.DeviceStatus {
	if primary {
		return &d.flags[1]
	}
	return &d.flags[0]
}
