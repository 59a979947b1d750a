package payload

// tag are the commands about what people write into a device to know it by:
// tags, notes, dates and serial numbers. The reading ones of the universal
// commands that also find a device stand in identity.
//
// Source: Allen-Bradley 1794-UM063A appendix C and 1756-UM533C p.199 (49, 57,
// 58); Biffi ICON3000 HART manual MDE 254 pp.29, 32; Siemens SITRANS F US
// A5E34981613-AC p.42. Response codes: Flowserve LMENIM2340-00 pp.62, 63.
var tag = []Definition{
	{
		Command: 16, Name: "read final assembly number",
		Request: one(),
		Reply:   finalAssemblyNumber,
	},
	{
		Command: 17, Name: "write message", Write: true,
		Request: one(packed("message", 24)),
		Reply:   one(packed("message", 24)),
	},
	{
		Command: 18, Name: "write tag, descriptor, date", Write: true,
		Request: tagDescriptorDate,
		Reply:   tagDescriptorDate,
		Codes:   map[uint8]string{9: "invalid date"},
	},
	{
		Command: 19, Name: "write final assembly number", Write: true,
		Request: finalAssemblyNumber,
		Reply:   finalAssemblyNumber,
	},
	{
		Command: 22, Name: "write long tag", Write: true,
		Request: longTag,
		Reply:   longTag,
	},
	{
		Command: 49, Name: "write primary variable transducer serial number", Write: true,
		Request: one(unsigned("transducer serial number", 3)),
		Reply:   one(unsigned("transducer serial number", 3)),
	},
	{
		Command: 57, Name: "read unit tag, descriptor, date",
		Request: one(),
		Reply:   tagDescriptorDate,
	},
	{
		Command: 58, Name: "write unit tag, descriptor, date", Write: true,
		Request: tagDescriptorDate,
		Reply:   tagDescriptorDate,
	},
}

var (
	finalAssemblyNumber = one(unsigned("final assembly number", 3))
	tagDescriptorDate   = one(packed("tag", 6), packed("descriptor", 12), date("date"))
	longTag             = []Layout{always(from6, Field{Name: "long tag", Type: Latin1, Size: 32})}
)
