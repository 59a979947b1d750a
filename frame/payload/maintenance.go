package payload

// maintenance are the commands that look after a device and its link: memory,
// test and reset, locks, counters.
//
// Source: Allen-Bradley 1794-UM063A appendix C (39, 41, 42); Biffi ICON3000 HART
// manual MDE 254 p.38 (59, 95); Flowserve LMENIM2340-00 pp.31, 32, 58, 59, 68 (71,
// 76, 78, 106). From memory: 72; from which revision on there are 71 to 78, 95
// and 106. Response codes: Flowserve LMENIM2340-00 pp.66-70.
var maintenance = []Definition{
	{
		Command: 39, Name: "EEPROM control", Write: true,
		Request: one(enumeration("EEPROM control", "EEPROM control")),
		Reply:   one(enumeration("EEPROM control", "EEPROM control")),
	},
	{Command: 41, Name: "perform self test", Write: true, Request: one(), Reply: one()},
	{Command: 42, Name: "perform device reset", Write: true, Request: one(), Reply: one()},
	{
		Command: 59, Name: "write number of response preambles", Write: true,
		Request: one(unsigned("response preambles", 1)),
		Reply:   one(unsigned("response preambles", 1)),
		Codes:   nearestValue,
	},
	{
		Command: 71, Name: "lock device", Write: true,
		Request: []Layout{always(from6, enumeration("lock code", "lock code"))},
		Reply:   []Layout{always(from6, enumeration("lock code", "lock code"))},
		Codes:   map[uint8]string{10: "invalid lock code", 11: "cannot lock device"},
	},
	{
		Command: 72, Name: "squawk", Write: true,
		Request: squawk,
		Reply:   squawk,
	},
	{
		Command: 76, Name: "read lock device state",
		Request: []Layout{always(from6)},
		Reply:   []Layout{always(from6, flags("lock status", "lock status"))},
	},
	{
		Command: 78, Name: "read aggregated commands",
		Request: []Layout{{For: revision7, Need: 1, Head: []Field{unsigned("number of commands", 1)},
			Group: aggregated("command data"), Max: 84}},
		Reply: []Layout{{For: revision7, Need: 2, Head: []Field{extendedStatus, unsigned("number of commands", 1)},
			Group: aggregated("response code and data"), Max: 83}},
		Codes: map[uint8]string{8: "update failure", 9: "invalid command request"},
	},
	{
		Command: 95, Name: "read device communications statistics",
		Request: []Layout{always(revision7)},
		Reply: []Layout{always(revision7, unsigned("requests received", 2),
			unsigned("replies sent", 2), unsigned("burst messages sent", 2))},
	},
	{
		Command: 106, Name: "flush delayed responses", Write: true,
		Request: []Layout{always(from6)},
		Reply:   []Layout{always(from6)},
		Codes:   map[uint8]string{8: "all but running delayed responses flushed"},
	},
}

// aggregated is one of the commands that stand in the data of another.
func aggregated(data string) []Field {
	return []Field{unsigned("command number", 2), unsigned("byte count", 1),
		{Name: data, Type: Bytes, Size: maxCounted, SizeField: "byte count"}}
}

var squawk = []Layout{always(revision6), always(revision7, enumeration("squawk control", "squawk control"))}
