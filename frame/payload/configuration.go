package payload

import "looptone/frame/unit"

// configuration are the commands that read how a device is set up and what it
// has to report.
//
// Source: Biffi ICON3000 HART manual MDE 254 pp.28, 34, 35; Siemens SITRANS F US
// A5E34981613-AC p.41; Allen-Bradley 1794-UM063A appendix C; SOR 815DT manual
// form 1588 p.13 (38); FCI ST51A/ST75A manual p.46 (request of 48). Response
// codes: Flowserve LMENIM2340-00 pp.62-65.
var configuration = []Definition{
	{
		Command: 14, Name: "read primary variable transducer information",
		Request: one(),
		Reply: one(unsigned("transducer serial number", 3), unitCode("unit"),
			float("upper transducer limit", "unit"), float("lower transducer limit", "unit"),
			float("minimum span", "unit")),
	},
	{
		Command: 15, Name: "read device information",
		Request: one(),
		Reply: []Layout{
			always(revision5, outputInformation("private label")...),
			always(revision6, append(outputInformation("private label"), channelFlags)...),
			always(revision7, append(outputInformation("reserved"), channelFlags)...),
		},
	},
	{
		Command: 38, Name: "reset configuration changed", Write: true,
		Request: changeCounter,
		Reply:   changeCounter,
		Codes:   map[uint8]string{9: "configuration change counter mismatch"},
	},
	{
		Command: 48, Name: "read additional device status",
		Request: []Layout{
			always(upTo6),
			{For: revision7, Head: additionalStatus}, // what was read, to acknowledge it
		},
		Reply: []Layout{
			{For: revision5, Need: 1, Head: []Field{
				raw("device-specific status", 6), raw("operating modes", 2),
				{Name: "analog outputs saturated", Type: Flags, Size: 3, Table: "analog outputs"},
				{Name: "analog outputs fixed", Type: Flags, Size: 3, Table: "analog outputs"},
				raw("more device-specific status", 11),
			}},
			{For: from6, Need: 4, Head: additionalStatus},
		},
		Codes: map[uint8]string{8: "update in progress", 14: "status bytes mismatch"},
	},
}

var channelFlags = flags("analog channel flags", "analog channel flags")

// outputInformation is the part of command 15 that all revisions share; its
// last byte changed its name.
func outputInformation(last string) []Field {
	return []Field{
		enumeration("alarm selection", "alarm selection"),
		enumeration("transfer function", "transfer function"),
		unitCode("unit"), float("upper range value", "unit"), float("lower range value", "unit"),
		floatIn("damping", unit.Second),
		enumeration("write protect", "write protect"), unsigned(last, 1),
	}
}

var changeCounter = []Layout{always(upTo6), always(revision7, unsigned("configuration change counter", 2))}

var additionalStatus = []Field{
	raw("device-specific status", 6), extendedStatus, unsigned("operating mode", 1),
	flags("standardized status 0", "standardized status 0"),
	flags("standardized status 1", "standardized status 1"),
	flags("analog channels saturated", "analog channels"),
	flags("standardized status 2", "standardized status 2"),
	flags("standardized status 3", "standardized status 3"),
	flags("analog channels fixed", "analog channels"),
	raw("more device-specific status", 11),
}
