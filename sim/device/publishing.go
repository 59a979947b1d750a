package device

import (
	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim"
)

// A device in burst mode publishes, each time to one master and then to the other
// one:
//
//	behind                                  the first start bit comes
//	any device's reply, its own included    as soon as the reply's carrier is off
//	its own message                         8 characters later, link grant
//	a request that nobody answers, or       33 characters later: so it restores the timing
//	anything unreadable, or being switched
//	on, or another device's message
//
// It looks before it talks: as long as a carrier is on it waits, be it its own that does
// not go off. A reply that it has to send goes first.
//
// Two devices that publish are a mistake of whoever installed them: there is room
// for one on a line. The one that came first goes on, and the other one keeps quiet
// until it hears it no more, so that nobody's turn is taken; after a reply the
// first one to look has the line.
//
// Source: FieldComm Group support articles 8000045189 (behind every reply, a
// device's own and others'; timing restored) and 8000045187 (a timer triggers the
// next one), support folder 8000075119 p.3 (the master changes from message to
// message, and each goes to both; the latest data); Flowserve LMENIM2340-00 p.34
// (link grant; one device on a link); from memory: 33 characters, and what two
// devices do.
type publishing struct {
	on       bool     // the device is in burst mode
	carrier  bool     // another station's is on
	heard    bool     // something that came with it
	listened bool     // since it was switched on, and so knows the line
	next     sim.Tick // carrier on of the next message, at the earliest

	toSecondary bool // the next one is to the secondary master
	again       bool // it is the same message, to the other master
	message     int  // number of the one that went out last
	messages    []BurstMessage
	last        []published
}

// restoring is how long the line is silent until a device in burst mode takes it.
const restoring = 33 * sim.Character

// updateBurstMode takes the device in or out of burst mode, by what it remembers.
func (d *Device) updateBurstMode() {
	p, was := &d.publishing, d.publishing.on
	p.on, p.messages = false, p.messages[:0]
	if len(d.cfg.Bursts) == 0 && len(d.memory.Bursts) == 0 {
		return
	}
	for n := range d.cfg.messages() {
		b := d.burst(&d.memory, n)
		b.On = b.On && canPublish(b.Command, d.cfg.Revision) // what is remembered may be of another version
		p.messages = append(p.messages, b)
		p.on = p.on || b.On
	}
	if !was || len(p.last) != len(p.messages) {
		p.begin()
	}
}

// begin is for a device that does not know the line yet.
func (p *publishing) begin() {
	*p = publishing{on: p.on, carrier: p.carrier, messages: p.messages, last: make([]published, len(p.messages))}
}

// follow keeps an eye on the line. While a reply of its own is due, or something of its
// own is on the line, that decides what comes next.
func (p *publishing) follow(h *sim.Heard, sending bool) {
	if h.Carrier != 0 {
		p.carrier = h.Carrier > 0
		missed := !p.carrier && !p.heard // it came too late to understand what was said
		p.heard = !p.carrier
		if missed && !sending {
			p.restore(h.At)
		}
		return
	}
	p.heard = true
	switch {
	case sending:
	case h.Event.Outcome == frame.Whole && h.Event.Frame.Kind == frame.ACK:
		p.listened, p.next = true, h.End
	default:
		p.restore(h.End)
	}
}

// restore has the device wait in case nobody else talks from moment end on.
func (p *publishing) restore(end sim.Tick) {
	p.listened, p.next = true, end+restoring-sim.CarrierLead
}

// publish sends the next message, if it may, or tells when that will be.
func (d *Device) publish(now sim.Tick) (b *sim.Burst, wake sim.Tick) {
	p := &d.publishing
	switch due := max(p.next, d.sending); {
	case p.carrier:
		return nil, sim.Never // its end will be heard
	case now < due:
		return nil, due
	case !p.listened:
		p.restore(now)
		return nil, p.next
	}
	b = d.burstOf(d.turnOf(now), now)
	d.sending = b.Off()
	p.next = b.Start(len(b.Chars)) + sim.LinkGrant - sim.CarrierLead
	return b, p.next
}

// turnOf is the message that goes out now.
func (d *Device) turnOf(now sim.Tick) *BurstMessage {
	p := &d.publishing
	d.transmitter.To(now)
	d.notice()
	d.asked.command = 0 // nobody has asked
	if p.again = p.again && p.messages[p.message].On; !p.again {
		p.message = d.chooseMessage(now)
		d.notePublished(&p.messages[p.message], now, &p.last[p.message])
	}
	return &p.messages[p.message]
}

// chooseMessage gives the number of the message that goes out next: that whose
// period has been over for longest, or where none has, that with the shortest.
func (d *Device) chooseMessage(now sim.Tick) (chosen int) {
	var most sim.Tick // by which one is overdue
	least := sim.Never
	late := false
	for n := range d.publishing.messages {
		b, last := &d.publishing.messages[n], &d.publishing.last[n]
		if !b.On {
			continue
		}
		period := d.periodNow(b, last)
		over := now - last.at - period
		if !last.once {
			over = sim.Never
		}
		switch {
		case over >= 0 && (!late || over > most):
			chosen, most, late = n, over, true
		case !late && period < least:
			chosen, least = n, period
		}
	}
	return chosen
}

// burstOf is message b at the moment now. The flags that a device takes back when
// a master has been told stay as they are: nobody knows who listens; from memory.
func (d *Device) burstOf(b *BurstMessage, now sim.Tick) *sim.Burst {
	p := &d.publishing
	def, _ := payload.Lookup(b.Command)
	d.asked.command, d.asked.data = b.Command, d.appendSlots(d.asked.data[:0], b)
	code, data := d.tell(def)
	f := frame.Frame{Kind: frame.BACK, Address: d.unique, Primary: !p.toSecondary, Burst: true,
		Command: uint8(b.Command), Data: data,
		Status: frame.Status{Response: frame.Response(code), Device: d.flags(!p.toSecondary) | d.noticed.status()}}
	p.toSecondary, p.again = !p.toSecondary, !p.again
	d.counts.bursts++
	return d.carry(&f, now)
}

// appendSlots writes the codes of the variables that commands 9 and 33 publish:
// one at least, and none that is not used behind the last one that is.
func (d *Device) appendSlots(dst []byte, b *BurstMessage) []byte {
	if b.Command != 9 && b.Command != 33 {
		return dst
	}
	var codes [8]uint8
	d.codesOf(codes[:], b.Variables)
	n := len(codes)
	if b.Command == 33 {
		n = 4
	}
	for n > 1 && codes[n-1] == notUsed {
		n--
	}
	return append(dst, codes[:n]...)
}
