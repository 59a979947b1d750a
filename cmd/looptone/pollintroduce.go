package main

import (
	"strings"

	"looptone/frame"
	"looptone/sim/master"
)

// uniqueOf is the unique address of a device, if it has introduced itself.
func (p *polling) uniqueOf(t master.Target) (unique frame.Address, ok bool) {
	if t.Tag == "" {
		unique, ok = p.met[t.Address]
		return unique, ok
	}
	for _, unique := range p.met {
		if p.names[unique.String()] == t.Tag {
			return unique, true
		}
	}
	return frame.Address{}, false
}

// introduce asks those addresses who is there where that is not known yet, and
// devices for their tags. Without --device, whoever answers is polled.
func (p *polling) introduce(say func(*master.Transaction) bool) (more bool) {
	if p.finds() {
		return p.findAll(say)
	}
	greeted := map[frame.Address]bool{}
	for _, a := range append(p.known[:len(p.known):len(p.known)], p.asked...) {
		if a.device.Tag != "" || greeted[a.device.Address] {
			continue
		}
		greeted[a.device.Address] = true
		if _, more := p.greet(a.device.Address, say); !more {
			return false
		}
	}
	return true
}

// findAll finds the devices at the polling addresses that every revision has.
func (p *polling) findAll(say func(*master.Transaction) bool) (more bool) {
	var found []string
	for n := range uint8(frame.MaxPolling5 + 1) {
		f, more := p.greet(frame.Polling(n), say)
		if !more {
			return false
		}
		if f == nil {
			continue
		}
		device := master.Target{Address: f.Unique}
		found = append(found, p.nameOf(device))
		for _, order := range p.each {
			p.known = append(p.known, asking{device, order, p.every.span})
		}
	}
	what := count(len(found), "device", "devices")
	if len(found) > 0 {
		what += ": " + strings.Join(found, ", ")
	}
	p.say("polling addresses 0 to %d: %s", frame.MaxPolling5, what)
	return true
}

// greet asks an address who is there, and the device for its name. A silent address
// is asked once.
func (p *polling) greet(a frame.Address, say func(*master.Transaction) bool) (f *master.Found, more bool) {
	var last master.Outcome
	for try := 0; f == nil && last != master.Silent && try <= p.retries; try++ {
		find := master.Find{Address: a}
		if !find.Run(func(t *master.Transaction) bool { more = say(t); last = t.Outcome; return more }) {
			return nil, false
		}
		f = find.Device
	}
	if f == nil {
		return nil, true
	}
	p.met[a], p.met[f.Unique] = f.Unique, f.Unique
	return f, p.askName(f, say)
}

// askName asks a device for its tag, and where that is empty for its long tag.
func (p *polling) askName(f *master.Found, say func(*master.Transaction) bool) (more bool) {
	for _, command := range [...]uint16{13, 20} {
		if command == 20 && (f.UniversalRevision < 6 || p.names[f.Unique.String()] != "") {
			break
		}
		for range 1 + p.retries {
			t := master.Transaction{Address: f.Unique, Command: command, Preambles: max(int(f.Preambles), leastPreambles)}
			if !say(&t) {
				return false
			}
			if _, understood := t.Reply.Status.Response.Code(); t.Outcome == master.Answered && understood {
				break
			}
		}
	}
	return true
}
