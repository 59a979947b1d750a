// Package device is a field device on a line: it hears requests, carries out
// their commands, and replies.
package device

import (
	"cmp"
	"errors"
	"fmt"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/transmitter"
)

// A Device is a slave with a transmitter behind it. It is a [sim.Station].
type Device struct {
	cfg         Config
	unique      frame.Address
	memory      Memory
	transmitter *transmitter.Transmitter
	variables   []variable

	off bool // it has no power

	// What is gone when the power is lost.
	coldStart [2]bool // the secondary and the primary master have not been told
	more      [2]bool // there is more status that they have not read
	noticed   health  // when that was found out
	heldMA    float64 // the loop current that is held for a test; 0 for none
	simulated map[uint8]reading
	testing   sim.Tick // until then the device tests itself
	delayed   delayed
	forgetful bool // something could not be kept
	counts    struct{ requests, replies, bursts uint16 }

	now        sim.Tick // of the step
	sending    sim.Tick // until then a reply is due, or something of its own is on the line
	publishing publishing
	unsaved    unsaved
	flushed    Saving              // the last one that no reply waits for; nil: it is known how it went
	kept       *transmitter.Totals // as they were kept last
	nextSaving sim.Tick            // of totals

	asked      request
	trouble    Trouble                // with the request that was heard last
	afterReply func(reply *sim.Burst) // what is to be done when the reply to it is under way, or nothing is
	chars      []byte
	data       []byte
}

// New is a device that was just switched on. An error is a [*setting.Error].
func New(c Config) (*Device, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	d := &Device{cfg: c, unique: c.Unique(), memory: c.Memory, variables: variablesOf(&c.Transmitter)}
	d.heldMA = describedMA(&c.Transmitter.Current)
	if _, err := transmitter.New(c.Transmitter); err != nil { // what the description says, whatever was written
		return nil, err
	}
	if err := d.switchOn(); err != nil {
		return nil, fmt.Errorf("what was written over the line does not go with the description any more: %w", err)
	}
	if totals := d.transmitter.Totals(); c.Transmitter.Totaliser != nil {
		d.kept = &totals
	}
	d.updateBurstMode()
	d.coldStart = [2]bool{true, true}
	d.noticed = health{protected: c.WriteProtect} // whatever else there is, nobody has been told
	d.planSaving(0)
	return d, nil
}

// switchOn makes the transmitter as it was described and as it was set since.
func (d *Device) switchOn() error {
	if err := checkPolling(d.Polling(), d.cfg.Revision); err != nil {
		return err
	}
	t := d.cfg.Transmitter
	if err := d.memory.check(&t); err != nil {
		return err
	}
	d.configure(&t, &d.memory)
	if kept := d.memory.Totals; kept != nil && t.Totaliser != nil {
		own := *t.Totaliser
		own.Begin, _ = kept.in(own.Unit) // checked
		t.Totaliser = &own
	}
	if t.Totaliser != nil {
		d.memory.Totals = nil // the transmitter goes on with them
	}
	var err error
	d.transmitter, err = transmitter.New(t)
	return err
}

// Config is what the device was made from.
func (d *Device) Config() *Config { return &d.cfg }

// Polling is the polling address that the device has now.
func (d *Device) Polling() uint8 { return d.pollingIn(&d.memory) }

// Transmitter is what stands between the device's sensor and its loop current.
func (d *Device) Transmitter() *transmitter.Transmitter { return d.transmitter }

// Looks reports whether the device looks before it talks: in burst mode.
func (d *Device) Looks() bool { return d.publishing.on }

// Step answers requests, and publishes.
func (d *Device) Step(now sim.Tick, heard []sim.Heard) (*sim.Burst, sim.Tick) {
	d.now = now
	var send *sim.Burst
	for i := range heard {
		if b := d.hear(now, &heard[i]); b != nil {
			send = b
		}
	}
	if d.off {
		return nil, sim.Never
	}
	wake := d.work(now)
	held, later := d.release(now)
	if held != nil {
		send = held
	}
	wake = min(wake, later, d.keepTotals(now))
	switch {
	case !d.publishing.on:
	case send != nil: // which goes first
		wake = min(wake, d.sending)
	default:
		send, later = d.publish(now)
		wake = min(wake, later)
	}
	return send, wake
}

// hear is the reply to what was heard, if it was a request that the device
// answers at once. A device that has a reply to send does not listen.
func (d *Device) hear(now sim.Tick, h *sim.Heard) *sim.Burst {
	switch {
	case d.off && h.Carrier == 0: // whether one is on is to be known when the power is back
		return nil
	case d.publishing.on:
		d.publishing.follow(h, now < d.sending)
	case h.Carrier != 0:
		d.publishing.carrier = h.Carrier > 0
		return nil
	}
	request := &h.Event.Frame
	if now < d.sending || request.Kind != frame.STX || !d.isMeant(request) {
		return nil
	}
	d.transmitter.To(h.End)
	switch h.Event.Outcome {
	case frame.Whole:
		d.counts.requests++
		return d.hearRequest(h.End, request)
	case frame.Damaged:
		if isCounted(&h.Event) {
			d.trouble = Trouble{}
			return d.reply(h.End, request, h.Event.Faults.Response(), nil)
		}
	}
	return nil
}

// hearRequest is the reply to a request that ended at moment end, unless it has to
// wait.
func (d *Device) hearRequest(end sim.Tick, request *frame.Frame) *sim.Burst {
	d.asked.wrote = false
	waits := d.unsaved.saving != nil // for a write before
	response, data, ok := d.answer(end, request)
	if !ok {
		return nil
	}
	reply := d.reply(end, request, response, data)
	if write := d.writeTime(); d.asked.wrote && reply != nil && write <= sim.SlaveTimeOut {
		reply.At = max(reply.At, end+write-sim.CarrierLead)
		d.busyWith(reply)
	}
	if do := d.afterReply; do != nil {
		do(cmp.Or(reply, &sim.Burst{At: end})) // a silent device does it as well
	}
	d.afterReply = nil
	if d.unsaved.saving != nil && !waits && reply != nil {
		d.hold(end, request, reply)
		return nil
	}
	return reply
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
		return polling == d.Polling() && f.Command == 0
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
// the device is silent.
func (d *Device) reply(end sim.Tick, request *frame.Frame, response frame.Response, data []byte) *sim.Burst {
	if d.trouble.Silent {
		return nil
	}
	f := frame.Frame{Kind: frame.ACK, Address: request.Address, Primary: request.Primary, Burst: d.publishing.on,
		Status: d.statusOf(response, request.Primary)}
	if request.Address.IsBroadcast() {
		f.Address = d.unique
	}
	f.Command, f.Data = request.Command, data
	if number := extendedNumber(request); number != nil {
		f.Data = append(number, data...)
	}
	d.counts.replies++
	b := d.carry(&f, max(d.now, end+d.cfg.Latency+d.trouble.Delay-sim.CarrierLead))
	d.busyWith(b)
	return b
}

// carry is the burst that carries a frame, from moment at on.
func (d *Device) carry(f *frame.Frame, at sim.Tick) *sim.Burst {
	d.chars = frame.AppendPreambles(d.chars[:0], d.replyPreambles())
	var err error
	if d.chars, err = f.AppendBinary(d.chars); err != nil {
		panic(err) // data are no longer than a layout, and that fits
	}
	return &sim.Burst{At: at, Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: d.chars, PPM: d.cfg.ClockPPM, Level: d.cfg.Level}
}

// busyWith has the device send a reply, and in burst mode publish behind it.
func (d *Device) busyWith(reply *sim.Burst) {
	d.sending = reply.Off()
	d.publishing.listened, d.publishing.next = true, d.sending
}

// extendedNumber is what leads the data of a reply to an extended command: its number,
// with and without success; from memory.
func extendedNumber(request *frame.Frame) []byte {
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
		s.Device = d.flags(primary) | d.health().status()
	}
	return s
}
