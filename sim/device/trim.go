package device

import (
	"errors"

	"looptone/frame/unit"
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

// Trim points; from memory.
const (
	lowerTrimPoint = 1
	upperTrimPoint = 2
)

// writeTrimPoint trims one end of the sensor by what is applied in truth.
func (d *Device) writeTrimPoint(r *request, m *Memory) (code uint8) {
	truth, ok := r.number("trim point value")
	if !d.isTransduced(r.data[0]) {
		return d.noVariable(r.data[0])
	}
	if !ok {
		return invalidSelection
	}
	truth, err := unit.Convert(truth, r.unitOf("trim point value"), d.sensor().Unit)
	if err != nil {
		return invalidUnitsCode
	}
	read := d.transmitter.Value()
	switch r.data[1] {
	case lowerTrimPoint:
		err = d.transmitter.TrimLower(r.now, truth)
	case upperTrimPoint:
		err = d.transmitter.TrimUpper(r.now, truth)
	default:
		return invalidSelection
	}
	if err != nil { // it is too far from what is read, or too near to the other end
		return refusal(truth, read)
	}
	return d.trimmed(nil, m)
}

// resetTrim takes back what was trimmed since the factory.
func (d *Device) resetTrim(r *request, m *Memory) (code uint8) {
	if !d.isTransduced(r.data[0]) {
		return d.noVariable(r.data[0])
	}
	m.Trim = nil
	return success
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
		return refusal(ma, level)
	}
	trim := d.transmitter.Config().Current.Trim
	m.CurrentTrim = &trim
	return success
}

// refusal is the response code for a trim by x that was refused, where another
// number was to be expected.
func refusal(x, expected float64) (code uint8) {
	if code = within(x, true, expected, expected); code == success {
		return deviceError
	}
	return code
}
