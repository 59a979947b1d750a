package device

import (
	"bytes"

	"looptone/frame"
	"looptone/frame/payload"
)

// health is what is wrong with a device, or not as usual.
type health struct {
	failure   bool // what it measures is no number
	beyond    bool // the process is beyond the sensor's limits
	saturated bool
	fixed     bool
	simulated bool // a variable is told as it was written
	forgetful bool // what was to be kept could not be
	protected bool // writes are refused
}

func (d *Device) health() health {
	now := d.transmitter.Status()
	return health{now.Malfunction, now.OutOfLimits, now.CurrentSaturated, now.CurrentFixed,
		len(d.simulated) > 0, d.forgetful, d.cfg.WriteProtect}
}

// notice tells both masters that there is more status, when there is other than
// before.
func (d *Device) notice() {
	now := d.health()
	if now.beyondStatus() != d.noticed.beyondStatus() {
		d.more = [2]bool{true, true}
	}
	d.noticed = now
}

// beyondStatus is what the field device status does not say by itself.
func (h health) beyondStatus() health {
	h.fixed, h.saturated = false, false
	return h
}

// status is the field device status for a master, which has been told then of
// the cold start.
//
// Source: Allen-Bradley 1794-UM063A p.C-6 (cleared by the first command that
// reports it); one flag per master from memory.
func (d *Device) status(primary bool) frame.DeviceStatus {
	d.notice()
	s := d.flags(primary) | d.noticed.status()
	d.coldStart[seat(primary)] = false
	return s
}

// status is the part of the field device status that speaks of the device's health.
func (h health) status() (s frame.DeviceStatus) {
	for _, b := range [...]struct {
		is  bool
		bit frame.DeviceStatus
	}{
		{h.failure || h.forgetful, frame.DeviceMalfunction},
		{h.fixed, frame.LoopCurrentFixed},
		{h.saturated, frame.LoopCurrentSaturated},
		{h.beyond, frame.PrimaryVariableOutOfLimits},
	} {
		if b.is {
			s |= b.bit
		}
	}
	return s
}

// statusContent is what commands 0, 9 and 48 say of the device's health.
//
// Source: Biffi ICON3000 HART manual MDE 254 p.35; Flowserve LMENIM2340-00 p.25
// (common tables 17, 27, 28, 29).
func (d *Device) statusContent(f *payload.Field) (payload.Content, bool) {
	h := &d.noticed
	switch f.Name {
	case "analog channels saturated", "analog outputs saturated":
		return payload.Content{Number: bit(h.saturated, 1)}, true
	case "analog channels fixed", "analog outputs fixed":
		return payload.Content{Number: bit(h.fixed, 1)}, true
	case "extended device status":
		return payload.Content{Number: bit(h.failure || h.forgetful, 0x08) + bit(h.beyond, 0x10) + bit(h.simulated, 0x20)}, true
	case "standardized status 0":
		return payload.Content{Number: bit(h.simulated, 0x01) + bit(h.forgetful, 0x02) + bit(h.protected, 0x80)}, true
	case "operating mode", "standardized status 1", "standardized status 2", "standardized status 3":
		return payload.Content{}, true
	case "analog channel flags":
		return payload.Content{}, true
	case "device-specific status", "operating modes":
		return payload.Content{Bytes: zeros[:f.Size]}, true
	}
	return payload.Content{}, false
}

var zeros [8]byte

func bit(is bool, value float64) float64 {
	if is {
		return value
	}
	return 0
}

// acknowledge compares the status that a master sends back with what it is. If it
// is the same, that master has no more to ask. Before revision 7 to read it is
// enough; from memory.
//
// Source: Flowserve LMENIM2340-00 p.25 (too few bytes or others: no
// acknowledgement; more are ignored).
func (d *Device) acknowledge(r *request) (code uint8) {
	d.notice()
	if d.cfg.Revision < 7 {
		d.more[seat(r.primary)] = false
		return success
	}
	if len(r.data) == 0 {
		return success
	}
	now, err := d.additionalStatus()
	switch {
	case err != nil:
		return notImplemented
	case len(r.data) < len(now):
		return tooFewDataBytes
	case !bytes.Equal(r.data[:len(now)], now):
		return statusMismatch
	}
	d.more[seat(r.primary)] = false
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
