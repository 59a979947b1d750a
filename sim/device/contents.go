package device

import (
	"math"
	"time"

	"looptone/frame/payload"
)

// contents are what a device puts into the fields of a reply, by their names.
type contents Device

// Content gives what the device has for a field. A number beyond all that a 32-bit
// float holds, as the percentage of a tiny range can be, is infinite on the line.
func (c *contents) Content(f *payload.Field, slot int) (payload.Content, bool) {
	held, ok := (*Device)(c).content(f, slot)
	if f.Type == payload.Float && math.Abs(held.Number) > math.MaxFloat32 {
		held.Number = math.Copysign(math.Inf(1), held.Number)
	}
	return held, ok
}

func (d *Device) content(f *payload.Field, slot int) (payload.Content, bool) {
	if slot >= 0 {
		return d.slotContent(f, slot)
	}
	if d.asked.command == readInformation {
		return d.information(f)
	}
	for _, part := range [...]func(*Device, string) (float64, bool){
		(*Device).identity, (*Device).dynamic, (*Device).configuration, (*Device).limits, (*Device).burstField,
	} {
		if n, ok := part(d, f.Name); ok {
			return payload.Content{Number: n}, true
		}
	}
	if s, ok := d.text(f.Name); ok {
		return payload.Content{Text: s}, true
	}
	return d.statusContent(f)
}

// slotContent is what stands in a slot of commands 9, 33 and 105.
func (d *Device) slotContent(f *payload.Field, slot int) (payload.Content, bool) {
	if d.asked.command == readBurst {
		if slot >= d.burstSlots() {
			return payload.Content{}, false
		}
		var codes [8]uint8
		d.codesOf(codes[:], d.burst(&d.memory, d.askedBurst()).Variables)
		return payload.Content{Number: float64(codes[slot])}, true
	}
	if slot >= len(d.asked.data) {
		return payload.Content{}, false
	}
	return d.variableContent(f, d.asked.data[slot])
}

func (d *Device) identity(name string) (float64, bool) {
	id := &d.cfg.Identity
	switch name {
	case "expansion code":
		return 254, true
	case "manufacturer", "private label":
		return float64(id.Maker), true
	case "device type", "expanded device type":
		return float64(id.Type), true
	case "request preambles":
		return float64(id.Preambles), true
	case "universal revision":
		return float64(id.Revision), true
	case "device revision":
		return float64(id.DeviceRevision), true
	case "software revision":
		return float64(id.SoftwareRevision), true
	case "hardware revision":
		return float64(id.HardwareRevision), true
	case "physical signalling", "flags":
		return 0, true
	case "device id":
		return float64(id.DeviceID), true
	case "response preambles":
		return float64(d.replyPreambles()), true
	case "number of device variables":
		return float64(len(d.variables)), true
	case "last device variable code":
		return float64(len(d.variables) - 1), true
	case "device profile": // process automation device
		return 1, true
	}
	return 0, false
}

// dynamic is what the dynamic variables and the loop current are.
func (d *Device) dynamic(name string) (float64, bool) {
	switch name {
	case "loop current":
		return d.transmitter.LoopCurrentMA(), true
	case "percent of range":
		return d.transmitter.PercentOfRange(), true
	case "time stamp": // of the day, which began when the device was switched on
		return math.Mod(d.transmitter.At().Seconds(), 24*60*60), true
	}
	for i := range dynamicNames {
		if n := &dynamicNames[i]; name == n.value || name == n.unit || name == n.class || name == n.code {
			return d.dynamicVariable(n, name, d.assignments()[i])
		}
	}
	return 0, false
}

// dynamicNames are the fields of the four dynamic variables.
var dynamicNames = [4]struct{ value, unit, class, code string }{
	{"primary variable", "primary variable unit", "primary variable classification", "primary variable code"},
	{"secondary variable", "secondary variable unit", "secondary variable classification", "secondary variable code"},
	{"tertiary variable", "tertiary variable unit", "tertiary variable classification", "tertiary variable code"},
	{"quaternary variable", "quaternary variable unit", "quaternary variable classification", "quaternary variable code"},
}

// dynamicVariable is a field of one. The reply to command 3 ends before the first
// variable that is not used.
func (d *Device) dynamicVariable(n *struct{ value, unit, class, code string }, name string, code uint8) (float64, bool) {
	if name == n.code {
		return float64(code), true
	}
	if code == notUsed {
		return 0, name == n.class
	}
	switch r := d.read(code); name {
	case n.value:
		return r.value, true
	case n.unit:
		return float64(r.unit), true
	default:
		return float64(classOf(r.unit)), true
	}
}

func (d *Device) configuration(name string) (float64, bool) {
	m := &d.memory
	switch name {
	case "polling address":
		return float64(d.Polling()), true
	case "loop current mode":
		return bit(d.loopCurrent(), 1), true
	case "configuration change counter":
		return float64(m.Changes), true
	case "alarm selection":
		c := d.transmitter.Config().Current
		return bit(c.FailureMA < c.LowerMA, 1), true // 0 high, 1 low
	case "write protect":
		return bit(d.cfg.WriteProtect, 1), true
	case "transfer function":
		return float64(d.transferFunction()), true
	case "final assembly number":
		return float64(written(m.FinalAssembly, 0)), true
	case "requests received":
		return float64(d.counts.requests), true
	case "replies sent":
		return float64(d.counts.replies), true
	case "burst messages sent":
		return float64(d.counts.bursts), true
	case "reserved": // from memory: not used
		return notUsed, true
	}
	return 0, false
}

const readTransducer = 14

// limits are those of the sensor, in command 14, and the range.
func (d *Device) limits(name string) (float64, bool) {
	sensor, scale := d.sensor(), written(d.memory.Range, d.cfg.Transmitter.Range)
	switch name {
	case "unit":
		if d.asked.command == readTransducer {
			return float64(sensor.Unit), true
		}
		return float64(scale.Unit), true
	case "upper transducer limit":
		return sensor.Upper, true
	case "lower transducer limit":
		return sensor.Lower, true
	case "minimum span":
		return sensor.MinimumSpan, true
	case "transducer serial number":
		return float64(d.serial()), true
	case "upper range value":
		return scale.Upper, true
	case "lower range value":
		return scale.Lower, true
	case "damping":
		return written(d.memory.DampingS, d.cfg.Transmitter.DampingS), true
	}
	return 0, false
}

// information is what command 54 says of the variable that it asks for. Only what
// the sensor measures has limits; from memory that the others have none.
func (d *Device) information(f *payload.Field) (payload.Content, bool) {
	code := d.asked.data[0]
	v := d.variables[code]
	switch f.Name {
	case "unit":
		if d.isTransduced(code) {
			return payload.Content{Number: float64(d.sensor().Unit)}, true
		}
		return payload.Content{Number: float64(d.read(code).unit)}, true
	case "device variable family":
		return payload.Content{Number: float64(v.family)}, true
	case "update period":
		return payload.Content{Number: d.period().Seconds()}, true
	case "device variable classification":
		n := classOf(d.read(code).unit)
		if d.isTransduced(code) {
			n = classOf(d.sensor().Unit)
		}
		return payload.Content{Number: float64(n)}, true
	case "device variable code":
		return payload.Content{Number: float64(code)}, true
	}
	n, ok := d.limits(f.Name)
	if ok && !d.isTransduced(code) {
		n = unlimited(f.Name)
	}
	return payload.Content{Number: n}, ok
}

// unlimited is a limit of a variable that has none: not a number; its serial
// number is 0.
func unlimited(name string) float64 {
	if name == "transducer serial number" {
		return 0
	}
	return math.NaN()
}

// period is how often the transmitter computes its variables.
func (d *Device) period() time.Duration { return d.transmitter.Config().Grid }

// burstField is what command 105 says beside the variables.
func (d *Device) burstField(name string) (float64, bool) {
	if d.asked.command != readBurst {
		return 0, false
	}
	n := d.askedBurst()
	b := d.burst(&d.memory, n)
	switch name {
	case "burst control": // 0 off, 1 on
		return bit(b.On, 1), true
	case "burst message":
		return float64(n), true
	case "command number":
		return float64(b.Command), true
	case "number of burst messages":
		return float64(d.cfg.messages()), true
	case "update period":
		return payload.Duration(b.Period).Seconds(), true
	case "maximum update period":
		return payload.Duration(b.MaximumPeriod).Seconds(), true
	case "burst trigger":
		return float64(b.Trigger), true
	case "trigger classification":
		return float64(b.Classification), true
	case "trigger unit":
		return float64(b.Unit), true
	case "trigger level":
		return float64(b.Level), true
	}
	return 0, false
}

func (d *Device) text(name string) (string, bool) {
	m := &d.memory
	switch name {
	case "tag":
		return d.tag(), true
	case "long tag":
		return d.longTag(), true
	case "descriptor":
		return written(m.Descriptor, d.cfg.Descriptor), true
	case "message":
		return written(m.Message, d.cfg.Message), true
	case "date":
		return written(m.Date, d.cfg.Date), true
	}
	return "", false
}
