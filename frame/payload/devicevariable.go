package payload

import "looptone/frame/unit"

// deviceVariable are the commands that set up single device variables.
//
// Source: Allen-Bradley 1756-UM533C pp.197-201; Siemens SITRANS F US
// A5E34981613-AC (50, 51, 53); Biffi ICON3000 HART manual MDE 254 p.37 (54);
// Flowserve LMENIM2340-00 pp.30, 31 (54, 79). From memory: that 51 may end early
// from revision 6 on; revision 6 of 54 and the properties in its revision 7.
// Response codes: Flowserve LMENIM2340-00 pp.64, 65, 68; of 52 and 55 from
// memory.
var deviceVariable = []Definition{
	{
		Command: 50, Name: "read dynamic variable assignments",
		Request: one(),
		Reply:   one(assignments...),
	},
	{
		Command: 51, Name: "write dynamic variable assignments", Write: true,
		Request: writtenAssignments,
		Reply:   writtenAssignments,
	},
	{
		Command: 52, Name: "set device variable zero", Write: true,
		Request: one(variableCode),
		Reply:   one(variableCode),
		Codes: map[uint8]string{9: "applied process too high", 10: "applied process too low",
			11: "invalid device variable code"},
	},
	{
		Command: 53, Name: "write device variable units", Write: true,
		Request: one(variableCode, unitCode("device variable unit")),
		Reply:   one(variableCode, unitCode("device variable unit")),
		Codes:   map[uint8]string{11: "invalid device variable code", 12: "invalid units code"},
	},
	{
		Command: 54, Name: "read device variable information",
		Request: one(variableCode),
		Reply: []Layout{
			always(revision5, transducer(unitCode("unit"))...),
			always(revision6, append(transducer(unitCode("unit")), float("minimum span", "unit"))...),
			{For: revision7, Need: 10, Head: append(transducer(classedUnit("unit", "device variable classification")),
				float("minimum span", "unit"),
				enumeration("device variable classification", "classification"),
				enumeration("device variable family", "device variable family"),
				duration("update period"), flags("device variable properties", ""))},
		},
	},
	{
		Command: 55, Name: "write device variable damping value", Write: true,
		Request: one(variableCode, floatIn("damping", unit.Second)),
		Reply:   one(variableCode, floatIn("damping", unit.Second)),
		Codes:   nearestValue,
	},
	{
		Command: 56, Name: "write device variable transducer serial number", Write: true,
		Request: one(variableCode, unsigned("transducer serial number", 3)),
		Reply:   one(variableCode, unsigned("transducer serial number", 3)),
	},
	{
		Command: 79, Name: "write device variable", Write: true,
		Request: writtenVariable,
		Reply:   writtenVariable,
		Codes:   map[uint8]string{8: "family status bits not set", 10: "invalid write device variable code"},
	},
}

// assignments say which device variable is which dynamic variable.
var assignments = []Field{
	enumeration("primary variable code", "device variable code"),
	enumeration("secondary variable code", "device variable code"),
	enumeration("tertiary variable code", "device variable code"),
	enumeration("quaternary variable code", "device variable code"),
}

var writtenAssignments = []Layout{
	always(revision5, assignments...),
	{For: from6, Need: 1, Head: assignments},
}

// transducer is the part of command 54 that all revisions share.
func transducer(limits Field) []Field {
	return []Field{
		variableCode, unsigned("transducer serial number", 3), limits,
		float("upper transducer limit", limits.Name), float("lower transducer limit", limits.Name),
		floatIn("damping", unit.Second),
	}
}

var writtenVariable = []Layout{always(from6, variableCode,
	enumeration("write device variable code", "write device variable"),
	unitCode("device variable unit"), float("device variable value", "device variable unit"),
	flags("device variable status", "device variable status"))}
