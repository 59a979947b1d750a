package device

import (
	"bytes"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim"
)

// answer carries a request out; ok is false when the device stays silent.
func (d *Device) answer(now sim.Tick, f *frame.Frame) (response frame.Response, data []byte, ok bool) {
	def, forms := d.lookup(f.Number())
	if f.Address.IsBroadcast() && (forms == nil || !d.isNamed(f)) {
		return 0, nil, false
	}
	d.trouble = d.troubleWith(now, forms != nil && def.Write)
	switch {
	case d.off: // it has just lost its power
		return 0, nil, false
	case d.trouble.Busy:
		return busy, nil, true
	case forms == nil:
		return notImplemented, nil, true
	}
	layout := formOf(forms, len(f.Payload()))
	if len(f.Payload()) < leastLen(def.Command, layout) {
		return tooFewDataBytes, nil, true
	}
	d.asked.take(now, f, def, layout, d.cfg.Revision)
	code, data := d.execute(def)
	return frame.Response(code), data, true
}

// lookup finds a command and the forms of its request; there are none where this
// device has no such command.
func (d *Device) lookup(number uint16) (def *payload.Definition, forms []payload.Layout) {
	def, known := payload.Lookup(number)
	if !known {
		return nil, nil
	}
	forms, err := def.Forms(frame.STX, d.cfg.Revision)
	if err != nil {
		return nil, nil
	}
	return def, forms
}

// formOf is the longest form of a request that n bytes fill.
func formOf(forms []payload.Layout, n int) *payload.Layout {
	l := &forms[0]
	for i := range forms {
		if forms[i].MinLen() <= n {
			l = &forms[i]
		}
	}
	return l
}

// leastLen is how many bytes a request needs. Command 6 may come without the loop
// current mode; from memory.
func leastLen(command uint16, l *payload.Layout) int {
	if command == writePolling {
		return 1
	}
	return l.MinLen()
}

const (
	tagLen          = 6
	longTagLen      = 32
	writePolling    = 6
	readByTag       = 11
	readByLongTag   = 21
	resetChanged    = 38
	readStatus      = 48
	readInformation = 54
	readBurst       = 105
)

// isNamed reports whether a broadcast is meant for this device: it carries the
// tag. From memory: nobody else answers.
func (d *Device) isNamed(f *frame.Frame) bool {
	var tag []byte
	var err error
	switch f.Number() {
	case readByTag:
		tag, err = payload.AppendPackedASCII(nil, d.tag(), tagLen)
	case readByLongTag:
		tag, err = payload.AppendLatin1(nil, d.longTag(), longTagLen)
	default:
		return false
	}
	return err == nil && bytes.HasPrefix(f.Payload(), tag)
}

// execute does what was asked and gives the data of the reply, which is valid
// until the next request. Where the command was not executed there are none.
func (d *Device) execute(def *payload.Definition) (code uint8, data []byte) {
	r := &d.asked
	if def.Write {
		w, ok := writes[def.Command]
		if !ok {
			return notImplemented, nil
		}
		code = d.write(r, def, w)
	} else {
		code = d.look(r)
	}
	switch {
	case !payload.Executed(code):
		return code, nil
	case def.Write && def.Command != writePolling:
		return code, r.data
	}
	if failed, data := d.tell(def); failed != success {
		return failed, data
	}
	return code, d.data
}

// tell gives the data of a reply to a command, or of a burst message, which are
// valid until the next one.
func (d *Device) tell(def *payload.Definition) (code uint8, data []byte) {
	reply, err := def.Layout(frame.ACK, d.cfg.Revision)
	if err != nil {
		return notImplemented, nil
	}
	d.notice() // what the reply tells of it must be true now
	if d.data, err = reply.Append(d.data[:0], (*contents)(d)); err != nil {
		return notImplemented, nil // it wants something that this device does not have
	}
	return success, d.data
}

// look is what a command that only reads does beside that.
func (d *Device) look(r *request) (code uint8) {
	switch r.command {
	case readStatus:
		return d.acknowledge(r)
	case readInformation:
		if !d.hasVariable(r.data[0]) {
			return invalidSelection
		}
	case readBurst:
		if d.askedBurst() >= d.cfg.messages() {
			return invalidSelection
		}
	}
	return success
}
