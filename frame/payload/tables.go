package payload

import "fmt"

// tables are the code tables by name, in the order of their names.
var tables = []*Table{
	&alarmSelection, &analogChannelFlags, &analogChannels, &analogOutputs, &classification,
	&deviceFlags, &deviceProfile, &deviceVariableCode, &deviceVariableFamily, &deviceVariableStatus,
	&extendedDeviceStatus, &loopCurrentMode, &physicalSignalling, &standardizedStatus0,
	&standardizedStatus1, &standardizedStatus3, &transferFunction, &writeProtect,
}

var tableByName = func() map[string]*Table {
	byName := make(map[string]*Table)
	for _, t := range tables {
		byName[t.Name] = t
	}
	return byName
}()

// code is a row of an enumeration.
func code(n uint32, text string) Row { return Row{Code: n, Text: text} }

// flag is a row of a set: one bit.
func flag(bit uint32, text string) Row { return Row{Code: bit, Mask: bit, Text: text} }

// part is a row of a set: several bits that are read together.
func part(mask, n uint32, text string) Row { return Row{Code: n, Mask: mask, Text: text} }

// Source: Siemens SITRANS F US A5E34981613-AC p.41 (1); Flowserve LMENIM2340-00
// p.58 (250); the others from memory.
var alarmSelection = Table{"alarm selection", []Row{
	code(0, "high"), code(1, "low"), code(239, "hold last value"),
	code(250, "not used"), code(251, "none"), code(252, "unknown"), code(253, "special"),
}}

// Source: Biffi ICON3000 HART manual MDE 254 p.49; Flowserve LMENIM2340-00 p.58.
var analogChannelFlags = Table{"analog channel flags", []Row{flag(0x01, "input channel")}}

// Source: Flowserve LMENIM2340-00 p.25.
var analogChannels = Table{"analog channels", numbered("analog channel", 4)}

// The lowest bit is the first output. Revisions from 6 on keep the low byte
// for the analog channels, so it is the last byte of the three.
//
// Source: Spectrum Controls 1734sc-IE2CH manual 0300257-01 p.B-5, note 4.
var analogOutputs = Table{"analog outputs", numbered("analog output", 24)}

func numbered(name string, n int) (rows []Row) {
	for i := range n {
		rows = append(rows, flag(1<<i, fmt.Sprintf("%s %d", name, i+1)))
	}
	return rows
}

// Source: Biffi ICON3000 HART manual MDE 254 p.49 (0, 64, 70, 80, 83, 91);
// FieldComm Group support article 8000091234 (103 to 106); the others from memory.
var classification = Table{"classification", []Row{
	code(0, "not classified"), code(64, "temperature"), code(65, "pressure"),
	code(66, "volumetric flow"), code(67, "velocity"), code(68, "volume"), code(69, "length"),
	code(70, "time"), code(71, "mass"), code(72, "mass flow"), code(73, "mass per volume"),
	code(74, "viscosity"), code(75, "angular velocity"), code(76, "area"), code(77, "energy"),
	code(78, "force"), code(79, "power"), code(80, "frequency"), code(81, "analytical"),
	code(82, "capacitance"), code(83, "electromotive force"), code(84, "current"),
	code(85, "resistance"), code(86, "angle"), code(87, "conductance"),
	code(88, "volume per volume"), code(89, "volume per mass"), code(90, "concentration"),
	code(91, "valve actuator"), code(103, "volumetric liquid flow per second"),
	code(104, "volumetric liquid flow per minute"), code(105, "volumetric liquid flow per hour"),
	code(106, "volumetric liquid flow per day"),
}}

// Source: Biffi ICON3000 HART manual MDE 254 p.48; Allen-Bradley 1794-UM063A
// appendix C (the first three).
var deviceFlags = Table{"device flags", []Row{
	flag(0x01, "multi-sensor device"), flag(0x02, "EEPROM control"), flag(0x04, "protocol bridge"),
	flag(0x08, "IEEE 802.15.4"), flag(0x40, "C8PSK capable"), flag(0x80, "C8PSK in multidrop only"),
}}

// Source: Biffi ICON3000 HART manual MDE 254 table 134.
var deviceProfile = Table{"device profile", []Row{
	code(1, "process automation device"), code(2, "discrete device"), code(3, "hybrid device"),
	code(4, "I/O system"), code(129, "wireless process automation device"),
	code(130, "wireless discrete device"), code(131, "wireless hybrid device"),
	code(132, "wireless gateway"), code(141, "wireless process adapter"),
	code(142, "wireless discrete adapter"), code(144, "wireless handheld"),
}}

// The codes 0 to 242 are the device's own.
//
// Source: WirelessHART gateway manual appendix p.122; Siemens SITRANS F US
// A5E34981613-AC p.40 (246 to 249); 250 from memory.
var deviceVariableCode = Table{"device variable code", []Row{
	code(243, "battery life"), code(244, "percent of range"), code(245, "loop current"),
	code(246, "primary variable"), code(247, "secondary variable"), code(248, "tertiary variable"),
	code(249, "quaternary variable"), code(250, "not used"),
}}

// Source: Biffi ICON3000 HART manual MDE 254 p.49, table 130.
var deviceVariableFamily = Table{"device variable family", []Row{
	code(4, "temperature"), code(5, "pressure"), code(6, "valve actuator"),
	code(7, "simple PID control"), code(8, "pH"), code(9, "conductivity"), code(10, "totalizer"),
	code(11, "level"), code(12, "vortex flow"), code(13, "magnetic flow"), code(14, "Coriolis flow"),
	code(250, "not used"),
}}

// Source: Biffi ICON3000 HART manual MDE 254 p.52.
var deviceVariableStatus = Table{"device variable status", []Row{
	part(0xc0, 0xc0, "good"), part(0xc0, 0x80, "manual or fixed"),
	part(0xc0, 0x40, "poor accuracy"), part(0xc0, 0x00, "bad"),
	part(0x30, 0x00, "not limited"), part(0x30, 0x10, "low limited"),
	part(0x30, 0x20, "high limited"), part(0x30, 0x30, "constant"),
	flag(0x08, "more device variable status available"),
}}

// Source: Biffi ICON3000 HART manual MDE 254 p.49; Flowserve LMENIM2340-00 pp.25, 57.
var extendedDeviceStatus = Table{"extended device status", []Row{
	flag(0x01, "maintenance required"), flag(0x02, "device variable alert"),
	flag(0x04, "critical power failure"), flag(0x08, "failure"),
	flag(0x10, "out of specification"), flag(0x20, "function check"),
}}

// Source: Biffi ICON3000 HART manual MDE 254 p.49; Siemens SITRANS F US
// A5E34981613-AC p.39.
var loopCurrentMode = Table{"loop current mode", []Row{code(0, "disabled"), code(1, "enabled")}}

// Source: Biffi ICON3000 HART manual MDE 254 p.48.
var physicalSignalling = Table{"physical signalling", []Row{
	code(0, "Bell 202 current"), code(1, "Bell 202 voltage"), code(2, "RS-485"),
	code(3, "RS-232"), code(4, "wireless"), code(6, "special"),
}}

// Source: Flowserve LMENIM2340-00 p.25.
var standardizedStatus0 = Table{"standardized status 0", []Row{
	flag(0x01, "device variable simulation active"), flag(0x02, "non-volatile memory defect"),
	flag(0x04, "volatile memory defect"), flag(0x08, "watchdog reset executed"),
	flag(0x10, "power supply out of range"), flag(0x20, "environment out of range"),
	flag(0x40, "electronic defect"), flag(0x80, "device configuration locked"),
}}

// Source: from memory.
var standardizedStatus1 = Table{"standardized status 1", []Row{
	flag(0x01, "status simulation active"), flag(0x02, "discrete variable simulation active"),
	flag(0x04, "event notification overflow"),
}}

// Source: Rosemount wireless pressure gauge reference manual 00809-0100-4045 p.62.
var standardizedStatus3 = Table{"standardized status 3", []Row{flag(0x01, "capacity denied")}}

// Source: Siemens SITRANS F US A5E34981613-AC p.41 (0); Flowserve LMENIM2340-00
// p.58 (0, 250); the others from memory.
var transferFunction = Table{"transfer function", []Row{
	code(0, "linear"), code(1, "square root"), code(2, "square root of third power"),
	code(3, "square root of fifth power"), code(4, "special curve"), code(5, "square"),
	code(230, "switch"), code(231, "square root and special curve"),
	code(232, "square root of third power and special curve"),
	code(233, "square root of fifth power and special curve"),
	code(250, "not used"), code(251, "none"), code(252, "unknown"), code(253, "special"),
}}

// Source: Biffi ICON3000 HART manual MDE 254 p.48; Flowserve LMENIM2340-00 p.58.
var writeProtect = Table{"write protect", []Row{
	code(0, "no"), code(1, "yes"), code(250, "not used"), code(251, "none"),
	code(252, "unknown"), code(253, "special"),
}}
