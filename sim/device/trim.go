package device

import (
	"errors"

	"looptone/sim/transmitter"
)

// setZero trims the sensor so that the value that is applied reads 0.
func (d *Device) setZero(r *request, m *Memory) (code uint8) {
	return d.trimmed(d.transmitter.ZeroTrim(r.now), m)
}

// trimmed remembers the trim that was made, or says why there was none.
func (d *Device) trimmed(err error, m *Memory) (code uint8) {
	switch {
	case errors.Is(err, transmitter.ErrTooHigh):
		return appliedTooHigh
	case errors.Is(err, transmitter.ErrTooLow):
		return appliedTooLow
	case err != nil:
		return deviceError
	}
	m.Trim = &SensorTrim{d.transmitter.Config().Trim, d.sensor().Unit}
	return success
}

// setVariableZero trims the sensor, or sets totals back.
func (d *Device) setVariableZero(r *request, m *Memory) (code uint8) {
	switch code := r.data[0]; {
	case d.isTransduced(code):
		return d.setZero(r, m)
	case d.isTotal(code):
		d.transmitter.SetTotals(r.now, transmitter.Totals{})
		return success
	default:
		return d.noVariable(code)
	}
}

func (d *Device) trimCurrentZero(r *request, m *Memory) (code uint8) {
	return d.trimCurrent(r, m, transmitter.ZeroMA)
}

func (d *Device) trimCurrentGain(r *request, m *Memory) (code uint8) {
	return d.trimCurrent(r, m, transmitter.FullMA)
}

// trimCurrent trims the converter by what a meter shows while the current is held
// at a level.
func (d *Device) trimCurrent(r *request, m *Memory, level float64) (code uint8) {
	ma, ok := r.number("measured loop current")
	switch {
	case d.isParked(m):
		return inMultidropMode
	case d.heldMA != level:
		return notInFixedCurrent
	case !ok:
		return invalidSelection
	}
	if d.transmitter.TrimCurrent(r.now, level, ma) != nil { // it is too far from the level
		return within(ma, ok, level, level)
	}
	trim := d.transmitter.Config().Current.Trim
	m.CurrentTrim = &trim
	return success
}
