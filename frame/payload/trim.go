package payload

import "looptone/frame/unit"

// trim are the commands that set a current or a value to a standard, and hold
// the loop current for that.
//
// Source: Allen-Bradley 1794-UM063A appendix C (40, 43, 45, 46); SOR 815DT manual
// form 1588; Siemens SITRANS F US A5E34981613-AC (45, 46). 80 to 83 are from
// memory. Response codes: ABB Endura AZ manual IM/AZ20E-EN rev F table 7.4;
// KROHNE UFC 500 HART command specification p.24 (11); of 82 from memory.
var trim = []Definition{
	{
		Command: 40, Name: "enter or exit fixed current mode", Write: true,
		Request: one(floatIn("fixed loop current", unit.Milliampere)), // 0 leaves the mode
		Reply:   one(floatIn("fixed loop current", unit.Milliampere)),
		Codes:   map[uint8]string{11: "in multidrop mode"},
	},
	{
		Command: 43, Name: "set primary variable zero", Write: true,
		Request: one(),
		Reply:   one(),
		Codes:   appliedProcess,
	},
	{
		Command: 45, Name: "trim loop current zero", Write: true,
		Request: measuredCurrent,
		Reply:   measuredCurrent,
		Codes:   currentTrimCodes,
	},
	{
		Command: 46, Name: "trim loop current gain", Write: true,
		Request: measuredCurrent,
		Reply:   measuredCurrent,
		Codes:   currentTrimCodes,
	},
	{
		Command: 80, Name: "read device variable trim points",
		Request: []Layout{always(from6, variableCode)},
		Reply: []Layout{always(from6, variableCode, unitCode("trim unit"),
			float("lower trim point", "trim unit"), float("upper trim point", "trim unit"))},
	},
	{
		Command: 81, Name: "read device variable trim guidelines",
		Request: []Layout{always(from6, variableCode)},
		Reply: []Layout{always(from6, variableCode,
			enumeration("trim points supported", "trim points supported"), unitCode("trim unit"),
			float("minimum lower trim point", "trim unit"), float("maximum lower trim point", "trim unit"),
			float("minimum upper trim point", "trim unit"), float("maximum upper trim point", "trim unit"),
			float("minimum differential", "trim unit"))},
	},
	{
		Command: 82, Name: "write device variable trim point", Write: true,
		Request: trimmed,
		Reply:   trimmed,
		Codes:   appliedProcess,
	},
	{
		Command: 83, Name: "reset device variable trim", Write: true,
		Request: []Layout{always(from6, variableCode)},
		Reply:   []Layout{always(from6, variableCode)},
	},
}

var measuredCurrent = one(floatIn("measured loop current", unit.Milliampere))

var trimmed = []Layout{always(from6, variableCode, enumeration("trim point", "trim point"),
	unitCode("trim unit"), float("trim point value", "trim unit"))}

var (
	appliedProcess   = map[uint8]string{9: "applied process too high", 10: "applied process too low"}
	currentTrimCodes = map[uint8]string{9: "not in fixed current mode", 11: "in multidrop mode"}
)
