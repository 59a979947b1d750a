package payload

// named are the commands of which the name is known and no layout.
//
// Source: FieldComm Group support article 8000036970 (115 to 119); the other
// names, and which of these commands write, from memory. Response codes:
// Flowserve LMENIM2340-00 pp.69, 70.
var named = []Definition{
	{Command: 31, Name: "extended command"}, // its data hold no number
	{Command: 73, Name: "find device"},
	{Command: 74, Name: "read I/O system capabilities"},
	{Command: 75, Name: "poll sub-device"},
	{Command: 77, Name: "send command to sub-device", Write: true},
	{Command: 84, Name: "read sub-device identity summary"},
	{Command: 85, Name: "read I/O channel statistics"},
	{Command: 86, Name: "read sub-device statistics"},
	{Command: 87, Name: "write I/O system master mode", Write: true},
	{Command: 88, Name: "write I/O system retry count", Write: true},
	{
		Command: 92, Name: "write trend configuration", Write: true,
		Codes: map[uint8]string{8: "set to nearest possible value", 11: "invalid trend number"},
	},
	{
		Command: 93, Name: "read trend",
		Codes: map[uint8]string{8: "trend not active", 11: "invalid trend number"},
	},
	{Command: 94, Name: "read I/O system client-side communication statistics"},
	{Command: 96, Name: "read synchronous action"},
	{Command: 97, Name: "configure synchronous action", Write: true},
	{Command: 98, Name: "read command action"},
	{Command: 99, Name: "configure command action", Write: true},
	{Command: 101, Name: "read sub-device to burst message map"},
	{Command: 102, Name: "map sub-device to burst message", Write: true},
	{Command: 111, Name: "transfer service control", Write: true},
	{Command: 112, Name: "transfer service", Write: true},
	{Command: 113, Name: "catch device variable", Write: true},
	{Command: 114, Name: "read caught device variable"},
	{Command: 115, Name: "read event notification summary"},
	{Command: 116, Name: "write event notification bit mask", Write: true},
	{Command: 117, Name: "write event notification timing", Write: true},
	{Command: 118, Name: "event notification control", Write: true},
	{Command: 119, Name: "acknowledge event notification", Write: true},
	{Command: 512, Name: "read country code"},
	{Command: 513, Name: "write country code", Write: true},
}
