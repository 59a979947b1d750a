package payload

import "looptone/frame/unit"

// analogChannel are the commands of devices with several analog channels.
//
// Source: Allen-Bradley 1756-UM533C pp.197-201 and 1794-UM063A appendix C; 66
// also 1794-UM064B p.132. That 61 may end early, as 3 does, is from memory.
// Response codes: as for the same command of the first channel; from memory.
var analogChannel = []Definition{
	{
		Command: 60, Name: "read analog channel and percent of range",
		Request: one(channelNumber),
		Reply: one(channelNumber, unitCode("analog channel unit"),
			float("analog channel level", "analog channel unit"), floatIn("percent of range", unit.Percent)),
		Codes: updateFailure,
	},
	{
		Command: 61, Name: "read dynamic variables and primary variable analog channel",
		Request: one(),
		Reply: []Layout{{For: anyRevision, Need: 4, Head: append([]Field{
			unitCode("analog channel unit"), float("analog channel level", "analog channel unit"),
		}, dynamicVariables...)}},
		Codes: updateFailure,
	},
	{
		Command: 62, Name: "read analog channels",
		Request: []Layout{{For: anyRevision, Group: []Field{channelNumber}, Min: 1, Max: 4}},
		Reply:   []Layout{{For: anyRevision, Group: channelLevel, Min: 1, Max: 4}},
		Codes:   updateFailure,
	},
	{
		Command: 63, Name: "read analog channel information",
		Request: one(channelNumber),
		Reply: one(channelNumber, enumeration("alarm selection", "alarm selection"),
			enumeration("transfer function", "transfer function"), unitCode("unit"),
			float("upper range value", "unit"), float("lower range value", "unit"),
			floatIn("damping", unit.Second)),
	},
	{
		Command: 64, Name: "write analog channel additional damping value", Write: true,
		Request: one(channelNumber, floatIn("damping", unit.Second)),
		Reply:   one(channelNumber, floatIn("damping", unit.Second)),
		Codes:   nearestValue,
	},
	{
		Command: 65, Name: "write analog channel range values", Write: true,
		Request: channelRange,
		Reply:   channelRange,
		Codes:   rangeCodes,
	},
	{
		Command: 66, Name: "enter or exit fixed analog channel mode", Write: true,
		Request: one(channelLevel...), // not a number leaves the mode
		Reply:   one(channelLevel...),
	},
	{
		Command: 67, Name: "trim analog channel zero", Write: true,
		Request: measuredLevel,
		Reply:   measuredLevel,
		Codes:   channelTrimCodes,
	},
	{
		Command: 68, Name: "trim analog channel gain", Write: true,
		Request: measuredLevel,
		Reply:   measuredLevel,
		Codes:   channelTrimCodes,
	},
	{
		Command: 69, Name: "write analog channel transfer function", Write: true,
		Request: one(channelNumber, enumeration("transfer function", "transfer function")),
		Reply:   one(channelNumber, enumeration("transfer function", "transfer function")),
	},
	{
		Command: 70, Name: "read analog channel endpoint values",
		Request: one(channelNumber),
		Reply: one(channelNumber, unitCode("analog channel unit"),
			float("upper endpoint", "analog channel unit"), float("lower endpoint", "analog channel unit")),
	},
}

var channelNumber = unsigned("analog channel", 1)

var channelLevel = []Field{channelNumber, unitCode("analog channel unit"),
	float("analog channel level", "analog channel unit")}

var channelRange = one(channelNumber, unitCode("unit"),
	float("upper range value", "unit"), float("lower range value", "unit"))

var measuredLevel = one(channelNumber, unitCode("analog channel unit"),
	float("measured level", "analog channel unit"))

var channelTrimCodes = map[uint8]string{9: "not in fixed analog channel mode"}
