package payload

import "looptone/frame/unit"

// ranging are the commands that set what the loop current shows: range,
// damping, unit and transfer function of the primary variable.
//
// Source: Allen-Bradley 1794-UM063A appendix C; SOR 815DT manual form 1588;
// Spectrum Controls 1769sc manual 0300215-03 p.7-46 (35). Response codes: ABB
// Endura AZ manual IM/AZ20E-EN rev F table 7.4; Spectrum Controls 1756sc manual
// p.153; KROHNE UFC 500 HART command specification pp.44, 48 (28); from memory:
// 8 of 34, 14 of 36.
var ranging = []Definition{
	{
		Command: 34, Name: "write primary variable damping value", Write: true,
		Request: one(floatIn("damping", unit.Second)),
		Reply:   one(floatIn("damping", unit.Second)),
		Codes:   nearestValue,
	},
	{
		Command: 35, Name: "write primary variable range values", Write: true,
		Request: rangeValues,
		Reply:   rangeValues,
		Codes:   rangeCodes,
	},
	{
		Command: 36, Name: "set primary variable upper range value", Write: true,
		Request: one(),
		Reply:   one(),
		Codes:   map[uint8]string{9: "applied process too high", 10: "applied process too low", 14: "span too small"},
	},
	{
		Command: 37, Name: "set primary variable lower range value", Write: true,
		Request: one(),
		Reply:   one(),
		Codes: map[uint8]string{9: "applied process too high", 10: "applied process too low",
			14: "upper range value pushed over limit"},
	},
	{
		Command: 44, Name: "write primary variable units", Write: true,
		Request: one(unitCode("primary variable unit")),
		Reply:   one(unitCode("primary variable unit")),
	},
	{
		Command: 47, Name: "write primary variable transfer function", Write: true,
		Request: one(enumeration("transfer function", "transfer function")),
		Reply:   one(enumeration("transfer function", "transfer function")),
	},
}

var rangeValues = one(unitCode("unit"), float("upper range value", "unit"), float("lower range value", "unit"))

var nearestValue = map[uint8]string{8: "set to nearest possible value"}

// rangeCodes are what can be wrong with two range values.
var rangeCodes = map[uint8]string{
	9: "lower range value too high", 10: "lower range value too low",
	11: "upper range value too high", 12: "upper range value too low",
	13: "both range values out of limits", 14: "span too small", 28: "invalid range units code",
}
