package payload

import (
	"slices"

	"looptone/frame/unit"
)

// variables are the commands that read what a device measures.
//
// Source: Biffi ICON3000 HART manual MDE 254 pp.20-25; Siemens SITRANS F US
// A5E34981613-AC p.40; Allen-Bradley 1794-UM063A appendix C (33, 110);
// Flowserve LMENIM2340-00 pp.23, 29. From memory: revision 6 of command 9; that
// 110 may end early, as 3 does. Response codes: Flowserve LMENIM2340-00 pp.61-62;
// of 33 and 110 from memory.
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
		Reply:   []Layout{{For: anyRevision, Need: 3, Head: slices.Concat([]Field{loopCurrent}, dynamicVariables)}},
		Codes:   updateFailure,
	},
	{
		Command: 8, Name: "read dynamic variable classifications",
		Request: []Layout{always(from6)},
		Reply: []Layout{always(from6,
			enumeration("primary variable classification", "classification"),
			enumeration("secondary variable classification", "classification"),
			enumeration("tertiary variable classification", "classification"),
			enumeration("quaternary variable classification", "classification"))},
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
	{
		Command: 33, Name: "read device variables",
		Request: []Layout{{For: anyRevision, Group: []Field{variableCode}, Min: 1, Max: 4}},
		Reply: []Layout{{For: anyRevision, Min: 1, Max: 4, Group: []Field{
			variableCode, unitCode("device variable unit"), float("device variable value", "device variable unit"),
		}}},
		Codes: updateFailure,
	},
	{
		Command: 110, Name: "read all dynamic variables",
		Request: one(),
		Reply:   []Layout{{For: anyRevision, Need: 2, Head: dynamicVariables}},
		Codes:   updateFailure,
	},
}

var dynamicVariables = []Field{
	unitCode("primary variable unit"), float("primary variable", "primary variable unit"),
	unitCode("secondary variable unit"), float("secondary variable", "secondary variable unit"),
	unitCode("tertiary variable unit"), float("tertiary variable", "tertiary variable unit"),
	unitCode("quaternary variable unit"), float("quaternary variable", "quaternary variable unit"),
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
