package device

import (
	"looptone/frame/unit"
	"looptone/sim/transmitter"
)

// longestDamping is the longest time constant that can be written.
//
// Source: common practice.
const longestDamping = 100.0 // s

func (d *Device) writeDamping(r *request, m *Memory) (code uint8) {
	s, ok := r.number("damping")
	if code := within(s, ok, 0, longestDamping); code != success {
		return code
	}
	m.DampingS = &s
	return success
}

func (d *Device) writeVariableDamping(r *request, m *Memory) (code uint8) {
	if !d.isTransduced(r.data[0]) {
		return d.noVariable(r.data[0])
	}
	return d.writeDamping(r, m)
}

// writeRange sets what stands for 0 and 100 %.
func (d *Device) writeRange(r *request, m *Memory) (code uint8) {
	lower, ok := r.number("lower range value")
	upper, also := r.number("upper range value")
	if !ok || !also {
		return invalidSelection
	}
	scale := transmitter.Scale{Lower: lower, Upper: upper, Unit: r.unitOf("lower range value")}
	if _, err := unit.Convert(0, scale.Unit, d.sensor().Unit); err != nil {
		return invalidRangeUnit
	}
	if code = d.rangeCode(scale); code == success || code == spanTooSmall {
		scale.Lower, scale.Upper = d.held(scale.Lower, scale.Unit), d.held(scale.Upper, scale.Unit)
		m.Range = &scale
	}
	return code
}

// held is a range value, at the sensor's limit where it is beyond it.
func (d *Device) held(v float64, u unit.Code) float64 {
	own, _ := unit.Convert(v, u, d.sensor().Unit)
	within := min(max(own, d.sensor().Lower), d.sensor().Upper)
	if within != own {
		v, _ = unit.Convert(within, d.sensor().Unit, u)
	}
	return v
}

// rangeCode judges a range whose unit is right.
func (d *Device) rangeCode(s transmitter.Scale) (code uint8) {
	limits := d.sensor()
	low, _ := unit.Convert(s.Lower, s.Unit, limits.Unit)
	high, _ := unit.Convert(s.Upper, s.Unit, limits.Unit)
	outside := func(v float64) bool { return d.tooHigh(v) || d.tooLow(v) }
	span := max(high-low, low-high)
	switch {
	case outside(low) && outside(high):
		return bothOutOfLimits
	case d.tooHigh(low):
		return lowerTooHigh
	case d.tooLow(low):
		return lowerTooLow
	case d.tooHigh(high):
		return upperTooHigh
	case d.tooLow(high), span == 0:
		return upperTooLow
	case span < limits.MinimumSpan:
		return spanTooSmall
	}
	return success
}

// sensor is the device's sensor as it left the factory.
func (d *Device) sensor() *transmitter.Sensor { return &d.cfg.Transmitter.Sensor }

// slack is what the conversion to a 32-bit float and back may put beyond a limit.
func (d *Device) slack() float64 { return 1e-6 * (d.sensor().Upper - d.sensor().Lower) }

func (d *Device) tooHigh(v float64) bool { return v > d.sensor().Upper+d.slack() }
func (d *Device) tooLow(v float64) bool  { return v < d.sensor().Lower-d.slack() }

// setUpperRange makes the value that is applied the upper range value.
func (d *Device) setUpperRange(r *request, m *Memory) (code uint8) {
	s, applied := d.applied(m)
	if code := d.appliedCode(); code != success {
		return code
	}
	if applied == s.Lower {
		return appliedTooLow
	}
	s.Upper = applied
	m.Range = &s
	return d.rangeCode(s)
}

// setLowerRange makes the value that is applied the lower range value; the upper
// one moves with it, as far as the sensor goes.
func (d *Device) setLowerRange(r *request, m *Memory) (code uint8) {
	s, applied := d.applied(m)
	if code := d.appliedCode(); code != success {
		return code
	}
	limits := d.sensor()
	least, _ := unit.Convert(limits.Lower, limits.Unit, s.Unit)
	most, _ := unit.Convert(limits.Upper, limits.Unit, s.Unit)
	upper := applied + s.Upper - s.Lower
	s.Lower, s.Upper = applied, min(max(upper, least), most)
	switch {
	case s.Upper == s.Lower:
		return appliedTooHigh
	case s.Upper != upper:
		code = upperPushed
	}
	m.Range = &s
	return max(code, d.rangeCode(s))
}

// applied is the range, and the value that is applied in its unit.
func (d *Device) applied(m *Memory) (s transmitter.Scale, v float64) {
	s = written(m.Range, d.cfg.Transmitter.Range)
	v, _ = unit.Convert(d.transmitter.Value(), d.sensor().Unit, s.Unit)
	return s, v
}

func (d *Device) appliedCode() (code uint8) {
	switch v := d.transmitter.Value(); {
	case d.tooHigh(v):
		return appliedTooHigh
	case d.tooLow(v):
		return appliedTooLow
	}
	return success
}

// writeUnit has the primary variable told in another unit of its quantity.
func (d *Device) writeUnit(r *request, m *Memory) (code uint8) {
	if !d.setUnit(m, unit.Code(r.whole("primary variable unit"))) {
		return invalidSelection
	}
	return success
}

func (d *Device) setUnit(m *Memory, u unit.Code) (ok bool) {
	scale, to := d.cfg.Transmitter.Range, &m.Range
	if own := d.cfg.Transmitter.UserUnit; own != nil {
		scale, to = *own, &m.UserUnit
	}
	scale = written(*to, scale)
	lower, err := unit.Convert(scale.Lower, scale.Unit, u)
	if err != nil {
		return false
	}
	upper, _ := unit.Convert(scale.Upper, scale.Unit, u)
	*to = &transmitter.Scale{Lower: lower, Upper: upper, Unit: u}
	return true
}

// powers are the transfer functions that are power laws.
//
// Source: Siemens SITRANS F US A5E34981613-AC p.41 (0 linear); the others from memory.
var powers = map[uint8]float64{0: 1, 1: 1.0 / 2, 2: 3.0 / 2, 3: 5.0 / 2, 5: 2}

func (d *Device) writeTransfer(r *request, m *Memory) (code uint8) {
	power, ok := powers[uint8(r.whole("transfer function"))]
	if _, has := d.transmitter.Output("transfer"); !ok || !has {
		return invalidSelection
	}
	m.Power = &power
	return success
}

// specialCurve is the transfer function of a power that has no code.
const specialCurve = 4

func (d *Device) transferFunction() uint8 {
	power := written(d.memory.Power, d.transmitter.Config().Transfer.Power)
	for code, p := range powers {
		if p == power {
			return code
		}
	}
	return specialCurve
}
