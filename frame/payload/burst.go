package payload

// burst are the commands that set up what a device publishes by itself.
//
// Source: Biffi ICON3000 HART manual MDE 254 pp.39-44; Flowserve LMENIM2340-00
// p.32 (103, 107, second forms of 105 and 108); Allen-Bradley 1794-UM063A
// appendix C (revision 5 of 107 to 109). The reply to 105 in revisions 5 and 6 is
// from memory. Response codes: Flowserve LMENIM2340-00 pp.69, 70; Biffi ICON3000
// HART manual MDE 254 p.41 (13).
var burst = []Definition{
	{
		Command: 103, Name: "write burst period", Write: true,
		Request: burstPeriods,
		Reply:   burstPeriods,
		Codes:   map[uint8]string{8: "update times adjusted", 9: "invalid burst message"},
	},
	{
		Command: 104, Name: "write burst trigger", Write: true,
		Request: burstTriggers,
		Reply:   burstTriggers,
		Codes:   map[uint8]string{9: "invalid burst message", 13: "invalid burst trigger mode"},
	},
	{
		Command: 105, Name: "read burst mode configuration",
		Request: []Layout{always(upTo6), always(revision7, burstMessage)},
		Reply:   burstConfiguration,
	},
	{
		Command: 107, Name: "write burst device variables", Write: true,
		Request: burstVariables,
		Reply:   burstVariables,
		Codes:   burstCodes,
	},
	{
		Command: 108, Name: "write burst mode command number", Write: true,
		Request: burstCommand,
		Reply:   burstCommand,
		Codes:   burstCodes,
	},
	{
		Command: 109, Name: "burst mode control", Write: true,
		Request: burstModeControl,
		Reply:   burstModeControl,
		Codes:   map[uint8]string{8: "update period increased", 9: "insufficient bandwidth"},
	},
}

var burstCodes = map[uint8]string{8: "burst condition conflict", 9: "invalid burst message"}

var (
	burstMessage    = unsigned("burst message", 1)
	burstControlled = enumeration("burst control", "burst control")
)

var burstPeriods = []Layout{always(revision7, burstMessage,
	duration("update period"), duration("maximum update period"))}

// triggerFields say when a burst message is due before its maximum period is over.
var triggerFields = []Field{
	enumeration("burst trigger", "burst trigger"),
	enumeration("trigger classification", "classification"),
	classedUnit("trigger unit", "trigger classification"), float("trigger level", "trigger unit"),
}

var burstTriggers = []Layout{always(revision7, append([]Field{burstMessage}, triggerFields...)...)}

// burstConfiguration has two forms in revision 7: one has no room for an
// extended command number, the other has 31 in its place and the number behind
// the slots.
var burstConfiguration = []Layout{
	{For: upTo6, Head: []Field{burstControlled, unsigned("command number", 1)}, Need: 2,
		Group: []Field{variableCode}, Min: 4, Max: 4},
	{For: revision7, Head: []Field{burstControlled, unsigned("command number", 1)}, Need: 2,
		Group: []Field{variableCode}, Min: 8, Max: 8,
		Tail: append([]Field{burstMessage, unsigned("number of burst messages", 1)}, burstTimes...)},
	{For: revision7, Head: []Field{burstControlled, unsigned("expansion flag", 1)}, Need: 2,
		Group: []Field{variableCode}, Min: 8, Max: 8,
		Tail: append([]Field{burstMessage, unsigned("number of burst messages", 1),
			unsigned("command number", 2)}, burstTimes...)},
}

var burstTimes = append([]Field{duration("update period"), duration("maximum update period")}, triggerFields...)

var burstVariables = []Layout{
	{For: upTo6, Group: []Field{variableCode}, Min: 4, Max: 4},
	{For: revision7, Group: []Field{variableCode}, Min: 8, Max: 8, Tail: []Field{burstMessage}},
}

// burstCommand has two forms in revision 7: with a command number of one byte and
// of two. A device answers in the form of the request.
var burstCommand = []Layout{
	always(upTo6, unsigned("command number", 1)),
	always(revision7, unsigned("command number", 1), burstMessage),
	always(revision7, unsigned("command number", 2), burstMessage),
}

var burstModeControl = []Layout{
	always(upTo6, burstControlled),
	always(revision7, burstControlled, burstMessage),
}
