package main

import (
	"strconv"
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
	p.say("looking for devices at polling addresses 0 to %d", frame.MaxPolling5)
	var found, garbled []string
	for n := range uint8(frame.MaxPolling5 + 1) {
		i, more := p.greet(frame.Polling(n), say)
		switch {
		case !more:
			return false
		case i.Unreadable:
			garbled = append(garbled, strconv.Itoa(int(n)))
		case i.Device != nil:
			device := master.Target{Address: i.Device.Unique}
			found = append(found, p.nameOf(device))
			for _, order := range p.each {
				p.known = append(p.known, asking{device, order, p.every.span})
			}
		}
	}
	what := count(len(found), "device", "devices")
	if len(found) > 0 {
		what += ": " + strings.Join(found, ", ")
	}
	if len(garbled) > 0 {
		what += "; what answers at " + strings.Join(garbled, ", ") + " cannot be read"
	}
	p.say("polling addresses 0 to %d: %s", frame.MaxPolling5, what)
	return true
}

// greet asks an address who is there, and the device for its name.
func (p *polling) greet(a frame.Address, say func(*master.Transaction) bool) (i master.Introduction, more bool) {
	i = master.Introduction{Address: a, Retries: p.retries}
	more = i.Run(say)
	if i.Device != nil {
		p.met[a], p.met[i.Device.Unique] = i.Device.Unique, i.Device.Unique
	}
	return i, more
}
