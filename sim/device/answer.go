package device

import (
	"bytes"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim"
)

// Response codes that a device of this package gives.
//
// Source: ABB Endura AZ manual IM/AZ20E-EN rev F p.74, table 7.4; per command:
// Flowserve LMENIM2340-00 pp.61-70.
const (
	success          = 0
	invalidSelection = 2
	tooFewDataBytes  = 5
	counterMismatch  = 9
	invalidMode      = 12
	statusMismatch   = 14
	notImplemented   = 64
)

// answer carries a request out; ok is false when the device stays silent.
func (d *Device) answer(now sim.Tick, f *frame.Frame) (response frame.Response, data []byte, ok bool) {
	def, known := payload.Lookup(f.Number())
	if !known {
		return notImplemented, nil, !f.Address.IsBroadcast()
	}
	request, err := def.Layout(frame.STX, d.cfg.Revision)
	if err != nil {
		return notImplemented, nil, !f.Address.IsBroadcast()
	}
	if f.Address.IsBroadcast() && !d.isNamed(f) {
		return 0, nil, false
	}
	if def.Write && !carriesOut(def.Command) {
		return notImplemented, nil, true
	}
	response = frame.Response(d.execute(now, f, request))
	if code, _ := response.Code(); !payload.Executed(code) {
		return response, nil, true
	}
	reply, err := def.Layout(frame.ACK, d.cfg.Revision)
	if err != nil {
		return notImplemented, nil, true
	}
	d.request = f.Payload()
	if n := request.Max; n > 0 { // bytes behind the last slot are extra
		d.request = d.request[:min(len(d.request), n)]
	}
	d.data, err = reply.Append(d.data[:0], (*contents)(d))
	if err != nil { // something that this device does not have
		return notImplemented, nil, true
	}
	return response, d.data, true
}

// carriesOut reports whether the device does what a command that writes asks for.
func carriesOut(command uint16) bool { return command == writePolling || command == resetChanged }

// isNamed reports whether a broadcast is meant for this device: it carries the
// tag. From memory: nobody else answers.
func (d *Device) isNamed(f *frame.Frame) bool {
	tag, err := payload.AppendPackedASCII(nil, d.cfg.Tag, tagLen)
	return err == nil && f.Number() == readByTag && bytes.HasPrefix(f.Payload(), tag)
}

const (
	tagLen       = 6
	readByTag    = 11
	writePolling = 6
	resetChanged = 38
	readStatus   = 48
)

// execute does what the command does beside reading.
func (d *Device) execute(now sim.Tick, f *frame.Frame, l *payload.Layout) (code uint8) {
	data := f.Payload()
	if len(data) < l.MinLen() && f.Command != writePolling {
		return tooFewDataBytes
	}
	switch f.Number() {
	case writePolling:
		return d.writePolling(now, data)
	case resetChanged:
		return d.resetChanged(f.Primary, data)
	case readStatus:
		if len(data) > 0 && d.cfg.Revision >= 7 {
			return d.acknowledge(data)
		}
	}
	return success
}

// writePolling moves the device to another polling address, and with it or by
// itself the loop current mode. From revision 6 on a request without a mode is
// taken as revision 5 has it; from memory.
func (d *Device) writePolling(now sim.Tick, data []byte) (code uint8) {
	if len(data) == 0 {
		return tooFewDataBytes
	}
	polling, mode := data[0], data[0] == 0
	if d.cfg.Revision == 5 && polling > frame.MaxPolling5 || polling > frame.MaxPolling {
		return invalidSelection
	}
	if d.cfg.Revision > 5 && len(data) > 1 {
		if data[1] > 1 {
			return invalidMode
		}
		mode = data[1] == 1
	}
	d.polling, d.loopCurrent = polling, mode
	d.changed()
	d.park(now)
	return success
}

// changed notes that the configuration was changed.
func (d *Device) changed() {
	d.changes++
	for i := range d.flags {
		d.flags[i] |= frame.ConfigurationChanged
	}
}

// resetChanged takes the flag back; from revision 7 on only for a master that
// knows of the last change.
func (d *Device) resetChanged(primary bool, data []byte) (code uint8) {
	if d.cfg.Revision >= 7 && uint16(data[0])<<8|uint16(data[1]) != d.changes {
		return counterMismatch
	}
	*d.flagsOf(primary) &^= frame.ConfigurationChanged
	return success
}

// acknowledge compares the status that a master sends back with what it is.
//
// Source: Flowserve LMENIM2340-00 p.25 (too few bytes or others: no
// acknowledgement; more are ignored).
func (d *Device) acknowledge(data []byte) (code uint8) {
	now, err := d.additionalStatus()
	switch {
	case err != nil:
		return notImplemented
	case len(data) < len(now):
		return tooFewDataBytes
	case !bytes.Equal(data[:len(now)], now):
		return statusMismatch
	}
	return success
}

func (d *Device) additionalStatus() ([]byte, error) {
	def, _ := payload.Lookup(readStatus)
	l, err := def.Layout(frame.ACK, d.cfg.Revision)
	if err != nil {
		return nil, err
	}
	return l.Append(nil, (*contents)(d))
}
