package findings

// A Rule is something that a host is to do.
type Rule uint8

const (
	Preambles Rule = iota
	DevicePreambles
	FirstPreambles
	Gap
	LinkQuiet
	LinkGrant
	Hold
	BurstTurn
	TimeOut
	Overlap
	SameMaster
	ShortFrame
	BurstBit
	ByteCount
	CheckByte
	Parity
	TooFewData
	UnknownCommand
	Retries

	ruleCount = int(Retries) + 1
)

// text is what is to be said of a rule.
type text struct {
	name   string
	says   string
	advice bool
	source string
}

var texts = [ruleCount]text{
	Preambles: {name: "preambles", says: "begin every request with 5 to 20 preambles",
		source: "Texas Instruments SLAAEH0, section 1.5.3"},
	DevicePreambles: {name: "device preambles", says: "send a device as many preambles as its reply to command 0 asks for",
		source: "Biffi ICON3000 HART manual MDE 254, p.20"},
	FirstPreambles: {name: "first preambles", says: "begin with 20 preambles as long as a device is not known", advice: true,
		source: "encyclopaedia-style HART article"},
	Gap: {name: "gap", says: "send the characters of a request without a pause longer than a character",
		source: "FieldComm Group support article 8000040648; R. Bowden's HART message board, posts 2169 and 2228"},
	LinkQuiet: {name: "link quiet", says: "wait for 33 characters of silence, the secondary master for 41, where no turn was given",
		source: "FieldComm Group support article 8000040648; where it holds from memory"},
	LinkGrant: {name: "link grant", says: "leave 8 characters to the other master after a reply to it",
		source: "FieldComm Group support article 8000040648; where it holds from memory"},
	Hold: {name: "hold", says: "use a turn within 2 characters, or wait until the line is quiet",
		source: "FieldComm Group support article 8000040648; where it holds from memory"},
	BurstTurn: {name: "burst turn", says: "leave the turn after a burst to the master that the burst gives it to",
		source: "FieldComm Group article 8000045189; that it is the one whose bit the burst does not carry from memory"},
	TimeOut: {name: "time-out", says: "wait for 28 characters, as long as a reply may begin",
		source: "FieldComm Group support article 8000040648"},
	Overlap: {name: "overlap", says: "be silent while something else is on the line",
		source: "HARTcommands.txt of a Fluke temperature sensor, section 1"},
	SameMaster: {name: "same master", says: "share the line with no other master that uses the same master bit",
		source: "Allen-Bradley 1794-UM063A, p.C-1"},
	ShortFrame: {name: "short frame", says: "use polling addresses for command 0 only",
		source: `Siemens ET 200iSP A5E00247483-AK, p.457; Chinese "HART communication protocol VER 1.6" guide`},
	BurstBit: {name: "burst bit", says: "leave the burst bit in the address of a request 0",
		source: "Allen-Bradley 1770-HT8 manual, p.4-31 table 4.P"},
	ByteCount: {name: "byte count", says: "count the bytes of a request right",
		source: "Buerkert, Type 8605 description of communication, p.13"},
	CheckByte: {name: "check byte", says: "end a request with the right check byte",
		source: "Buerkert, Type 8605 description of communication, p.14"},
	Parity: {name: "parity", says: "send every character with odd parity and a stop bit",
		source: "FieldComm Group support article 8000040648; R. Bowden's HART message board, post 2167"},
	TooFewData: {name: "too few data", says: "send all the data that a command needs",
		source: "ABB Endura AZ manual IM/AZ20E-EN rev F, table 7.4 (response code 5)"},
	UnknownCommand: {name: "unknown command", says: "ask for commands that are defined",
		source: "ABB Endura AZ manual IM/AZ20E-EN rev F, table 7.4 (response code 64)"},
	Retries: {name: "retries", says: "ask again at most 3 times", advice: true,
		source: "common practice"},
}

// String is the rule's name.
func (r Rule) String() string { return texts[r].name }

// Says is the rule in words, as it would be told to a host.
func (r Rule) Says() string { return texts[r].says }

// Advice reports whether the rule is good practice, and not to follow it no breach.
func (r Rule) Advice() bool { return texts[r].advice }

// Source is the document that the rule stands in.
func (r Rule) Source() string { return texts[r].source }
