package measure

// A Limit is what is published of the signal, or follows from it.
type Limit struct {
	Name   string
	Want   string // in words
	Source string
}

// The numbers of the limits.
const (
	tolerance    = 0.01  // of tones and bit rate
	leastHeard   = 0.120 // V peak to peak
	neverHeard   = 0.080
	leastMA      = 0.9 // peak to peak, of a modulator
	mostMA       = 1.1
	typicalMA    = 2.0 // 500 mV in 250 ohm
	mostBorne    = 1.1 * typicalMA
	mostJump     = 15.0 // degrees, root mean square
	mostOffGrid  = 0.12 // bits
	mostLead     = 5.0  // bits
	mostTail     = 5.0
	mostRise     = 5.0
	mostDecay    = 6.0
	leastFF      = 5
	mostFF       = 20
	mostInBand   = 0.0022 // V rms
	mostBeside   = 0.138
	timingErrors = 0.1 // bits, that a carrier's beginning and end may be off by
	// How many standard deviations noise moves that by at the most.
	endDeviations = 4
	atOnce        = 0.5 // bits, that a rise cannot be told from none
)

// Names of limits.
const (
	limitMark      = "mark"
	limitSpace     = "space"
	limitBitRate   = "bit rate"
	limitAmplitude = "amplitude"
	limitCurrent   = "signal current"
	limitPhase     = "phase"
	limitBits      = "bit distortion"
	limitLead      = "carrier on"
	limitTail      = "carrier off"
	limitRise      = "rise"
	limitDecay     = "decay"
	limitPreambles = "preambles"
	limitGaps      = "gaps"
	limitParity    = "parity and framing"
	limitMessages  = "messages"
	limitResponse  = "slave time-out"
	limitInBand    = "noise in the band"
	limitBeside    = "noise beside it"
)

// Limits are those that a waveform is held against, in this order.
var Limits = []Limit{
	{limitMark, "1200 Hz within 1 %", "1200 Hz: Texas Instruments application note SLAAEH0 (Nov 2023), section 1.5.3; 1 % from memory"},
	{limitSpace, "2200 Hz within 1 %", "2200 Hz: Texas Instruments application note SLAAEH0 (Nov 2023), section 1.5.3; 1 % from memory"},
	{limitBitRate, "1200 bit/s within 1 %", "1200 bit/s: Texas Instruments application note SLAAEH0 (Nov 2023), section 1.5.3; 1 % from memory"},
	{limitAmplitude, "120 mV peak to peak or more; below 80 mV no receiver hears it", "Texas Instruments application note SLAAER4 (Mar 2025), section 3.4.8, table 3-8"},
	{limitCurrent, "0.9 to 2.2 mA peak to peak, of a device: sources differ", "0.9 to 1.1 mA of a modulator: Texas Instruments data sheet DAC8750 (SBAS538D); typically 500 mV across 250 ohm, which is 2 mA: Texas Instruments application note SLAAER4 (Mar 2025), section 3.4.8, table 3-8; the 10 % above that are a choice of this program"},
	{limitPhase, "no jump where the tone changes", "phase continuous: Texas Instruments data sheet AFE782H1/AFE882H1, modulator; that less than 15° rms is taken for none is a choice of this program"},
	{limitBits, "no edge further than 12 % of a bit from where it should be", "HT1200M modem chip, user manual p.11, of what a receiver makes of good tones"},
	{limitLead, "at most 5 bit times before the first start bit", "Allen-Bradley 1797-6.5.3 (2006), p.C-2"},
	{limitTail, "at most 5 bit times behind the last stop bit", "Allen-Bradley 1797-6.5.3 (2006), p.C-2"},
	{limitRise, "at most 5 bit times", "Texas Instruments data sheet DAC8742H (JAJSGM3), timing table"},
	{limitDecay, "at most 6 bit times", "Texas Instruments data sheet DAC8742H (JAJSGM3), timing table"},
	{limitPreambles, "5 to 20", "Texas Instruments application note SLAAEH0 (Nov 2023), section 1.5.3"},
	{limitGaps, "at most one character within a message", "FieldComm Group support article 8000040648"},
	{limitParity, "no error", "11 bits with odd parity: Texas Instruments application note SLAAEH0 (Nov 2023), section 1.5.3"},
	{limitMessages, "every message whole", "common practice"},
	{limitResponse, "a reply begins within 28 characters", "FieldComm Group support article 8000040648"},
	{limitInBand, "at most 2.2 mV rms from 500 Hz to 10 kHz while nobody talks", "from memory"},
	{limitBeside, "at most 138 mV rms below 500 Hz and above 10 kHz while nobody talks", "from memory"},
}

// A Finding is how a verdict comes out.
type Finding uint8

// The findings.
const (
	NotMeasurable Finding = iota // there is nothing in the waveform that shows it
	Kept
	Broken
)

var findingNames = [...]string{NotMeasurable: "not measurable", Kept: "kept", Broken: "broken"}

func (f Finding) String() string { return findingNames[f] }

// A Verdict is how one limit came out.
type Verdict struct {
	Limit
	Finding     Finding
	Got         float64 // where there is a number, the worst one
	Least, Most float64 // that it may be; NaN where there is no such bound
	Unit        string  // empty: there is no number
	Says        string  // one sentence, without a full stop
}

// limit is the limit of that name.
func limit(name string) Limit {
	for _, l := range Limits {
		if l.Name == name {
			return l
		}
	}
	panic("no limit is called " + name)
}
