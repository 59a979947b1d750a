package payload

import "looptone/frame/unit"

// variables are the commands that read what a device measures.
//
// Source: Biffi ICON3000 HART manual MDE 254 pp.20-25; Siemens SITRANS F US
// A5E34981613-AC p.40; Allen-Bradley 1794-UM063A appendix C; Flowserve
// LMENIM2340-00 p.23. Revision 6 of command 9 is from memory. Response codes:
// Flowserve LMENIM2340-00 pp.61-62.
var variables = []Definition{
	{
		Command: 1, Name: "read primary variable",
		Request: one(),
		Reply:   one(unitCode("primary variable unit"), float("primary variable", "primary variable unit")),
		Codes:   updateFailure,
	},
	{
		Command: 2, Name: "read loop current and percent of range",
		Request: one(),
		Reply:   one(loopCurrent, floatIn("percent of range", unit.Percent)),
		Codes:   updateFailure,
	},
	{
		Command: 3, Name: "read dynamic variables and loop current",
		Request: one(),
		Reply: []Layout{{For: anyRevision, Need: 3, Head: []Field{
			loopCurrent,
			unitCode("primary variable unit"), float("primary variable", "primary variable unit"),
			unitCode("secondary variable unit"), float("secondary variable", "secondary variable unit"),
			unitCode("tertiary variable unit"), float("tertiary variable", "tertiary variable unit"),
			unitCode("quaternary variable unit"), float("quaternary variable", "quaternary variable unit"),
		}}},
		Codes: updateFailure,
	},
	{
		Command: 9, Name: "read device variables with status",
		Request: []Layout{
			{For: revision6, Group: []Field{variableCode}, Min: 1, Max: 4},
			{For: revision7, Group: []Field{variableCode}, Min: 1, Max: 8},
		},
		Reply: []Layout{
			{For: revision6, Head: []Field{extendedStatus}, Need: 1, Group: variableSlot, Min: 1, Max: 4},
			{For: revision7, Head: []Field{extendedStatus}, Need: 1, Group: variableSlot, Min: 1, Max: 8,
				Tail: []Field{{Name: "time stamp", Type: Time, Size: 4, Unit: unit.Second}}},
		},
		Codes: map[uint8]string{8: "update failure", 14: "dynamic variables returned for device variables"},
	},
}

var updateFailure = map[uint8]string{8: "update failure"}

var (
	loopCurrent    = floatIn("loop current", unit.Milliampere)
	extendedStatus = flags("extended device status", "extended device status")
	variableCode   = enumeration("device variable code", "device variable code")
)

// variableSlot is what command 9 says of one variable.
var variableSlot = []Field{
	variableCode,
	enumeration("device variable classification", "classification"),
	{Name: "device variable unit", Type: UnitCode, Size: 1, Class: "device variable classification"},
	float("device variable value", "device variable unit"),
	flags("device variable status", "device variable status"),
}
