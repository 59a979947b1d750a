package device

import (
	"math"

	"looptone/frame/payload"
	"looptone/frame/unit"
	"looptone/sim/transmitter"
)

// Device variable codes that mean the same in every device.
//
// Source: Siemens SITRANS F US A5E34981613-AC p.40 (246 to 249); WirelessHART
// gateway manual appendix p.122 (244, 245); 250 from memory.
const (
	percentOfRange  = 244
	loopCurrent     = 245
	primaryVariable = 246
	quaternary      = 249
	notUsed         = 250
)

// variable is something that a device measures or works out, by its own code:
// its place among the others.
type variable struct {
	kind   variableKind
	name   string // in the memory
	family uint8
}

type variableKind uint8

const (
	processVariable variableKind = iota // what the loop current follows
	sensorValue                         // trimmed, before the range
	sensorTemperature
	netTotal
	forwardTotal
	manipulatedVariable
)

// Families of device variables.
//
// Source: Biffi ICON3000 HART manual MDE 254 p.49, table 130.
const (
	temperatureFamily = 4
	pressureFamily    = 5
	controlFamily     = 7
	totalizerFamily   = 10
	noFamily          = 250
)

// variablesOf are those of a device with such a transmitter.
func variablesOf(c *transmitter.Config) []variable {
	family := uint8(noFamily)
	switch c.Sensor.Unit.Quantity() {
	case unit.Pressure:
		family = pressureFamily
	case unit.Temperature:
		family = temperatureFamily
	}
	list := []variable{{processVariable, "process variable", family}, {sensorValue, "sensor value", family},
		{sensorTemperature, "sensor temperature", temperatureFamily}}
	if c.Totaliser != nil {
		list = append(list, variable{netTotal, "net total", totalizerFamily}, variable{forwardTotal, "forward total", totalizerFamily})
	}
	if c.Controller != nil {
		list = append(list, variable{manipulatedVariable, "manipulated variable", controlFamily})
	}
	return list
}

func (d *Device) hasVariable(code uint8) bool { return int(code) < len(d.variables) }

// isTransduced reports whether a variable comes from the sensor, so that it has a
// damping, a zero and a transducer.
func (d *Device) isTransduced(code uint8) bool {
	return d.hasVariable(code) && d.variables[code].kind <= sensorValue
}

func (d *Device) isTotal(code uint8) bool {
	return d.hasVariable(code) && (d.variables[code].kind == netTotal || d.variables[code].kind == forwardTotal)
}

// noVariable is the response code for a variable that is not there, or has not
// what the command wants.
func (d *Device) noVariable(code uint8) uint8 {
	if d.hasVariable(code) {
		return invalidSelection
	}
	return invalidVariable
}

// assignments are the device variables that are the dynamic ones; notUsed where
// there is none, and behind that.
func (d *Device) assignments() (list [4]uint8) {
	if own := d.memory.Assignments; own != nil {
		d.codesOf(list[:], own)
	} else {
		list = [4]uint8{0, 1, 2, notUsed}
		if len(d.variables) > 3 {
			list[3] = 3
		}
	}
	for i := 1; i < len(list); i++ {
		if list[i-1] == notUsed { // it was of a variable that is gone
			list[i] = notUsed
		}
	}
	return list
}

// namesOf are variables by their names, so that they stay the same when their
// codes change with the description. What is not used has none.
func (d *Device) namesOf(codes []uint8) []string {
	names := make([]string, len(codes))
	for i, code := range codes {
		if d.hasVariable(code) {
			names[i] = d.variables[code].name
		}
	}
	return names
}

// codesOf gives the codes of variables by their names; notUsed for those that are
// not there.
func (d *Device) codesOf(codes []uint8, names []string) {
	for i := range codes {
		codes[i] = notUsed
		for code := range d.variables {
			if i < len(names) && d.variables[code].name == names[i] {
				codes[i] = uint8(code)
			}
		}
	}
}

// writeAssignments lets device variables be the dynamic ones. The loop current
// follows the primary one, so that one stays.
func (d *Device) writeAssignments(r *request, m *Memory) (code uint8) {
	list := d.assignments()
	copy(list[:], r.data)
	for i, code := range list {
		switch {
		case i == 0 && code != 0,
			i > 0 && !d.hasVariable(code) && code != notUsed,
			i > 0 && code != notUsed && list[i-1] == notUsed: // command 3 would end before it
			return invalidSelection
		}
	}
	m.Assignments = d.namesOf(list[:])
	return success
}

// A reading is what a variable is at this moment.
type reading struct {
	value  float64
	unit   unit.Code
	status uint8
}

// in is the reading in another unit, where there is a way to it.
func (r reading) in(u unit.Code) reading {
	if v, err := unit.Convert(r.value, r.unit, u); err == nil {
		r.value, r.unit = v, u
	}
	return r
}

// nothing is what is told of a variable that the device does not have: not a
// number, bad and constant; from memory.
var nothing = reading{math.NaN(), unit.NotUsed, badConstant}

// Device variable status.
//
// Source: Biffi ICON3000 HART manual MDE 254 p.52.
const (
	good         = 0xc0
	poorAccuracy = 0x40
	bad          = 0x00
	badConstant  = 0x30
	manualFixed  = 0xb0
	lowLimited   = 0x10
	highLimited  = 0x20
)

// read reads a device variable by its code, those that all devices have included.
func (d *Device) read(code uint8) reading {
	switch t := d.transmitter; {
	case code == percentOfRange:
		return reading{t.PercentOfRange(), unit.Percent, d.quality()}
	case code == loopCurrent:
		return reading{t.LoopCurrentMA(), unit.Milliampere, good}
	case code >= primaryVariable && code <= quaternary:
		if code = d.assignments()[code-primaryVariable]; code == notUsed {
			return nothing
		}
	}
	if !d.hasVariable(code) {
		return nothing
	}
	own := d.measure(code)
	if s, ok := d.simulated[code]; ok {
		return s.in(own.unit)
	}
	return own
}

// measure reads a variable of the device's own, in the unit that was chosen for it.
func (d *Device) measure(code uint8) (r reading) {
	t := d.transmitter
	r.status = good
	switch d.variables[code].kind {
	case processVariable:
		r.value, r.unit = t.PrimaryVariable()
		r.status = d.quality()
	case sensorValue:
		r.value, r.unit = t.Value(), d.sensor().Unit
		r.status = d.quality()
	case sensorTemperature:
		r.value, r.unit = d.sensor().AtC, unit.DegreeCelsius
	case netTotal:
		r.value, r.unit = t.Totals().Net, d.cfg.Transmitter.Totaliser.Unit
	case forwardTotal:
		r.value, r.unit = t.Totals().Forward, d.cfg.Transmitter.Totaliser.Unit
	case manipulatedVariable:
		out, _ := t.Output("controller")
		r.value, r.unit = out.Value, out.Unit
	}
	if u, ok := d.memory.Units[d.variables[code].name]; ok {
		return r.in(u)
	}
	return r
}

// quality is the status of what the sensor measures.
func (d *Device) quality() uint8 {
	switch now := d.transmitter.Status(); {
	case now.Malfunction:
		return bad
	case now.OutOfLimits:
		return poorAccuracy | d.limit()
	}
	return good
}

// limit says at which of its limits the sensor is.
func (d *Device) limit() uint8 {
	if out, _ := d.transmitter.Output("sensor"); out.Value >= d.sensor().Upper {
		return highLimited
	}
	return lowLimited
}

// writeVariableUnit has a variable told in another unit of its quantity.
func (d *Device) writeVariableUnit(r *request, m *Memory) (code uint8) {
	variable, u := r.data[0], unit.Code(r.whole("device variable unit"))
	if !d.hasVariable(variable) {
		return invalidVariable
	}
	if d.variables[variable].kind == processVariable {
		if !d.setUnit(m, u) {
			return invalidUnit
		}
		return success
	}
	if _, err := unit.Convert(0, d.measure(variable).unit, u); err != nil {
		return invalidUnit
	}
	m.withUnit(d.variables[variable].name, u)
	return success
}

func (d *Device) writeVariableSerial(r *request, m *Memory) (code uint8) {
	if !d.isTransduced(r.data[0]) {
		return d.noVariable(r.data[0])
	}
	return d.writeSerial(r, m)
}

// writeVariable has a variable told as it is written instead of as it is, or ends
// that. The loop current goes on following what is measured.
//
// Source: Flowserve LMENIM2340-00 pp.59, 68.
func (d *Device) writeVariable(r *request, _ *Memory) (code uint8) {
	variable, write := r.data[0], r.data[1]
	value, ok := r.number("device variable value")
	own := nothing
	if d.hasVariable(variable) {
		own = d.measure(variable)
	}
	switch {
	case !d.hasVariable(variable):
		return invalidVariableIx
	case write > 1:
		return invalidWriteCode
	case write == 0:
		delete(d.simulated, variable)
		return success
	case !ok:
		return invalidSelection
	}
	u := r.unitOf("device variable value")
	if _, err := unit.Convert(value, u, own.unit); err != nil {
		return invalidUnitsCode
	}
	if d.simulated == nil {
		d.simulated = map[uint8]reading{}
	}
	d.simulated[variable] = reading{value, u, manualFixed}
	return success
}

// classOf is the class of a quantity; 0 is not classified.
func classOf(u unit.Code) (class uint8) {
	for c := range unit.Class(128) {
		if units := c.Units(); len(units) > 0 && c.Measures(u) && u.Quantity() != unit.None {
			return uint8(c)
		}
	}
	return 0
}

// variableContent is what commands 9, 33 and 54 say of a variable.
func (d *Device) variableContent(f *payload.Field, code uint8) (payload.Content, bool) {
	r := d.read(code)
	switch f.Name {
	case "device variable code":
		return payload.Content{Number: float64(code)}, true
	case "device variable classification":
		return payload.Content{Number: float64(classOf(r.unit))}, true
	case "device variable unit":
		return payload.Content{Number: float64(r.unit)}, true
	case "device variable value":
		return payload.Content{Number: r.value}, true
	case "device variable status":
		return payload.Content{Number: float64(r.status)}, true
	}
	return payload.Content{}, false
}
