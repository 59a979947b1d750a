package device

import (
	"math"

	"looptone/frame/payload"
	"looptone/frame/unit"
)

// contents are what a device puts into the fields of a reply, by their names.
type contents Device

// Content gives what the device has for a field.
func (c *contents) Content(f *payload.Field, slot int) (payload.Content, bool) {
	if slot >= 0 {
		return c.variable(f, slot)
	}
	for _, part := range [...]func(*contents, string) (float64, bool){
		(*contents).identity, (*contents).configuration, (*contents).measured, (*contents).limits,
	} {
		if n, ok := part(c, f.Name); ok {
			return payload.Content{Number: n}, true
		}
	}
	if s, ok := c.text(f.Name); ok {
		return payload.Content{Text: s}, true
	}
	return c.state(f)
}

func (c *contents) identity(name string) (float64, bool) {
	id := &c.cfg.Identity
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
	case "physical signalling", "flags", "last device variable code":
		return 0, true
	case "device id", "transducer serial number":
		return float64(id.DeviceID), true
	case "response preambles":
		return float64(id.ReplyPreambles), true
	case "number of device variables", "device profile":
		return 1, true
	}
	return 0, false
}

func (c *contents) configuration(name string) (float64, bool) {
	switch name {
	case "polling address":
		return float64(c.polling), true
	case "loop current mode":
		if c.loopCurrent {
			return 1, true
		}
		return 0, true
	case "configuration change counter":
		return float64(c.changes), true
	case "alarm selection": // high
		return 0, true
	case "write protect":
		return 0, true
	case "transfer function":
		return transferFunction(c.transmitter.Config().Transfer.Power), true
	case "reserved": // from memory: not used
		return 250, true
	}
	return 0, false
}

// transferFunction is the code of a power law, or of a special curve where it has
// none.
//
// Source: Siemens SITRANS F US A5E34981613-AC p.41 (0 linear); the others from memory.
func transferFunction(power float64) float64 {
	switch power {
	case 1:
		return 0
	case 0.5:
		return 1
	case 1.5:
		return 2
	case 2.5:
		return 3
	case 2:
		return 5
	}
	return 4
}

func (c *contents) measured(name string) (float64, bool) {
	pv, u := c.transmitter.PrimaryVariable()
	switch name {
	case "primary variable":
		return pv, true
	case "primary variable unit":
		return float64(u), true
	case "loop current":
		return c.transmitter.LoopCurrentMA(), true
	case "percent of range":
		return c.transmitter.PercentOfRange(), true
	case "time stamp": // of the day, which began when the device was switched on
		return math.Mod(c.transmitter.At().Seconds(), 24*60*60), true
	}
	return 0, false
}

// limits are those of the sensor and of the range.
func (c *contents) limits(name string) (float64, bool) {
	cfg := c.transmitter.Config()
	switch name {
	case "unit":
		return float64(cfg.Sensor.Unit), true
	case "upper transducer limit":
		return cfg.Sensor.Upper, true
	case "lower transducer limit":
		return cfg.Sensor.Lower, true
	case "minimum span":
		return 0, true
	case "upper range value":
		return c.inSensorUnit(cfg.Range.Upper), true
	case "lower range value":
		return c.inSensorUnit(cfg.Range.Lower), true
	case "damping":
		return cfg.DampingS, true
	}
	return 0, false
}

func (c *contents) text(name string) (string, bool) {
	switch name {
	case "tag":
		return c.cfg.Tag, true
	case "long tag":
		return c.cfg.LongTag, true
	case "descriptor":
		return c.cfg.Descriptor, true
	case "message":
		return c.cfg.Message, true
	case "date":
		return c.cfg.Date, true
	}
	return "", false
}

// state is what commands 0, 9 and 48 say of the device's health: with nothing
// wrong, zeros but for the analog channel.
func (c *contents) state(f *payload.Field) (payload.Content, bool) {
	now := c.transmitter.Status()
	switch f.Name {
	case "analog channels saturated", "analog outputs saturated":
		return payload.Content{Number: bit(now.CurrentSaturated)}, true
	case "analog channels fixed", "analog outputs fixed":
		return payload.Content{Number: bit(now.CurrentFixed)}, true
	case "extended device status", "operating mode", "analog channel flags",
		"standardized status 0", "standardized status 1", "standardized status 2", "standardized status 3":
		return payload.Content{}, true
	case "device-specific status", "operating modes":
		return payload.Content{Bytes: zeros[:f.Size]}, true
	}
	return payload.Content{}, false
}

var zeros [8]byte

func bit(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// Device variable codes that mean the same in every device.
//
// Source: Siemens SITRANS F US A5E34981613-AC p.40 (246); WirelessHART gateway
// manual appendix p.122 (244, 245); 250 from memory.
const (
	percentOfRange  = 244
	loopCurrent     = 245
	primaryVariable = 246
	notUsed         = 250
)

// variable is what command 9 says of the variable that a slot asks for. A
// variable that the device does not have is not a number, bad and constant; from
// memory.
func (c *contents) variable(f *payload.Field, slot int) (payload.Content, bool) {
	if slot >= len(c.request) {
		return payload.Content{}, false
	}
	code := c.request[slot]
	value, u, status := c.variableOf(code)
	switch f.Name {
	case "device variable code":
		return payload.Content{Number: float64(code)}, true
	case "device variable classification":
		return payload.Content{}, true
	case "device variable unit":
		return payload.Content{Number: float64(u)}, true
	case "device variable value":
		return payload.Content{Number: value}, true
	case "device variable status":
		return payload.Content{Number: status}, true
	}
	return payload.Content{}, false
}

// Device variable status.
//
// Source: Biffi ICON3000 HART manual MDE 254 p.52.
const (
	good         = 0xc0
	poorAccuracy = 0x40
	badConstant  = 0x30
)

func (c *contents) variableOf(code byte) (value float64, u unit.Code, status float64) {
	switch code {
	case percentOfRange:
		return c.transmitter.PercentOfRange(), unit.Percent, good
	case loopCurrent:
		return c.transmitter.LoopCurrentMA(), unit.Milliampere, good
	case 0, primaryVariable:
		value, u = c.transmitter.PrimaryVariable()
		if c.transmitter.Status().OutOfLimits {
			return value, u, poorAccuracy
		}
		return value, u, good
	}
	return math.NaN(), notUsed, badConstant
}

// inSensorUnit converts a value of the range.
func (c *contents) inSensorUnit(v float64) float64 {
	cfg := c.transmitter.Config()
	v, _ = unit.Convert(v, cfg.Range.Unit, cfg.Sensor.Unit) // the transmitter has converted it before
	return v
}
