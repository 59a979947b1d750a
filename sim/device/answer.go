package device

import (
	"bytes"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim"
)

// answer carries a request out; ok is false when the device stays silent.
func (d *Device) answer(now sim.Tick, f *frame.Frame) (response frame.Response, data []byte, ok bool) {
	def, known := payload.Lookup(f.Number())
	if !known {
		return notImplemented, nil, !f.Address.IsBroadcast()
	}
	forms, err := def.Forms(frame.STX, d.cfg.Revision)
	if err != nil {
		return notImplemented, nil, !f.Address.IsBroadcast()
	}
	if f.Address.IsBroadcast() && !d.isNamed(f) {
		return 0, nil, false
	}
	layout := formOf(forms, len(f.Payload()))
	if len(f.Payload()) < leastLen(def.Command, layout) {
		return tooFewDataBytes, nil, true
	}
	d.asked.take(now, f, def, layout, d.cfg.Revision)
	code, data := d.execute(def)
	return frame.Response(code), data, true
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
	reply, err := def.Layout(frame.ACK, d.cfg.Revision)
	if err != nil {
		return notImplemented, nil
	}
	d.notice() // what the reply tells of it must be true now
	if d.data, err = reply.Append(d.data[:0], (*contents)(d)); err != nil {
		return notImplemented, nil // it wants something that this device does not have
	}
	return code, d.data
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
		if len(r.data) > 0 && r.data[0] != 0 {
			return invalidSelection
		}
	}
	return success
}
