package payload

// clock are the commands about a device's clock and what it records by it.
//
// Source: Flowserve LMENIM2340-00 p.31 (of 91 the print is cut off behind the
// fields here, and does not tell how its bytes 1 to 3 divide). Response codes:
// the same pp.68, 69.
var clock = []Definition{
	{
		Command: 89, Name: "set real-time clock", Write: true,
		Request: []Layout{always(revision7, unsigned("time set code", 1), date("date"),
			duration("time of day"), raw("reserved", 2))},
		Reply: []Layout{always(revision7, unsigned("time set code", 1), date("date"), duration("time of day"))},
	},
	{
		Command: 90, Name: "read real-time clock",
		Request: []Layout{always(revision7)},
		Reply: []Layout{always(revision7, date("date"), duration("time of day"),
			date("date of last setting"), duration("time of day of last setting"),
			flags("clock flags", "clock flags"))},
	},
	{
		Command: 91, Name: "read trend configuration",
		Request: []Layout{always(revision7, unsigned("trend number", 1))},
		Reply: []Layout{always(revision7, unsigned("trend number", 1),
			raw("trend control and device variable", 3), duration("sample interval"))},
		Codes: map[uint8]string{11: "invalid trend number"},
	},
}
