package payload

// identity are the commands that say who a device is and where it listens.
//
// Source: Biffi ICON3000 HART manual MDE 254 pp.20, 22, 23, 27, 32; Siemens
// SITRANS F US A5E34981613-AC pp.38-42; Allen-Bradley 1794-UM063A appendix C;
// FCI ST100 HART manual p.10 (4, 5 and 10 are not in use). Revision 6 of command
// 0, and from when on there are 7, 20 and 21, is from memory. Response codes:
// Flowserve LMENIM2340-00 pp.61-63.
var identity = []Definition{
	{
		Command: 0, Name: "read unique identifier",
		Request: one(),
		Reply:   uniqueIdentifier,
	},
	{Command: 4, Name: "reserved"},
	{Command: 5, Name: "reserved"},
	{
		Command: 6, Name: "write polling address", Write: true,
		Request: pollingAddress,
		Reply:   pollingAddress,
		Codes:   map[uint8]string{2: "invalid polling address", 12: "invalid mode selection"},
	},
	{
		Command: 7, Name: "read loop configuration",
		Request: []Layout{always(from6)},
		Reply:   []Layout{pollingAddressAndMode},
	},
	{Command: 10, Name: "reserved"},
	{
		Command: 11, Name: "read unique identifier associated with tag",
		Request: one(packed("tag", 6)),
		Reply:   uniqueIdentifier,
	},
	{
		Command: 12, Name: "read message",
		Request: one(),
		Reply:   one(packed("message", 24)),
	},
	{
		Command: 13, Name: "read tag, descriptor, date",
		Request: one(),
		Reply:   tagDescriptorDate,
	},
	{
		Command: 20, Name: "read long tag",
		Request: []Layout{always(from6)},
		Reply:   longTag,
	},
	{
		Command: 21, Name: "read unique identifier associated with long tag",
		Request: longTag,
		Reply:   uniqueIdentifier[1:], // not in revision 5
	},
}

var pollingAddressAndMode = always(from6,
	unsigned("polling address", 1), enumeration("loop current mode", "loop current mode"))

var pollingAddress = []Layout{always(revision5, unsigned("polling address", 1)), pollingAddressAndMode}

// uniqueIdentifier is the reply in which a device introduces itself.
var uniqueIdentifier = []Layout{
	always(revision5,
		unsigned("expansion code", 1), unsigned("manufacturer", 1), unsigned("device type", 1),
		unsigned("request preambles", 1), universalRevision,
		unsigned("device revision", 1), unsigned("software revision", 1),
		hardwareRevision, signalling, flags("flags", "device flags"), unsigned("device id", 3)),
	always(revision6,
		unsigned("expansion code", 1), unsigned("manufacturer", 1), unsigned("device type", 1),
		unsigned("request preambles", 1), universalRevision,
		unsigned("device revision", 1), unsigned("software revision", 1),
		hardwareRevision, signalling, flags("flags", "device flags"), unsigned("device id", 3),
		unsigned("response preambles", 1), unsigned("number of device variables", 1),
		unsigned("configuration change counter", 2),
		flags("extended device status", "extended device status")),
	always(revision7,
		unsigned("expansion code", 1), unsigned("expanded device type", 2),
		unsigned("request preambles", 1), universalRevision,
		unsigned("device revision", 1), unsigned("software revision", 1),
		hardwareRevision, signalling, flags("flags", "device flags"), unsigned("device id", 3),
		unsigned("response preambles", 1), unsigned("last device variable code", 1),
		unsigned("configuration change counter", 2),
		flags("extended device status", "extended device status"),
		unsigned("manufacturer", 2), unsigned("private label", 2),
		enumeration("device profile", "device profile")),
}

var (
	universalRevision = Field{Name: "universal revision", Type: Unsigned, Size: 1, Revision: true}
	hardwareRevision  = Field{Name: "hardware revision", Type: Unsigned, Size: 1, Bits: Bits{Low: 3, Width: 5}}
	signalling        = Field{Name: "physical signalling", Type: Enumeration, Size: 1,
		Bits: Bits{Width: 3}, Table: "physical signalling"}
)
