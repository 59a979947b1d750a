package modemcheck

import (
	"time"

	"looptone/serialio"
)

// A Limit is what is published of a modem, or follows from it.
type Limit struct {
	Name   string
	Want   string // in words
	Source string
}

// How long a carrier may take, in bit times.
const (
	carrierBits = 5 // to go on before a message, or off behind it
	detectBits  = 6 // until a receiver has told that it is there
)

// detectOff is how long a receiver may take to tell that a carrier is gone.
const detectOff = 3 * time.Millisecond

// mostSwallowed are the preambles that may begin before a carrier is detected: 6 bit
// times are less than a character.
const mostSwallowed = 1

// slaveTimeOut is how long after a request its reply must begin, in characters.
const slaveTimeOut = 28

// Limits are those that a modem is held against, in this order.
var Limits = []Limit{
	{"messages", "every message comes, and as it was sent", "common practice"},
	{"characters lost", "none", "common practice"},
	{"characters wrong", "none", "common practice"},
	{"stray characters", "none", "Texas Instruments application note SLAAEH8 (Oct 2024), section 3.5.1, table 3-9, has receivers bear extra characters behind a message; that a modem makes none is common practice"},
	{"parity and framing", "no error", "11 bits with odd parity: Texas Instruments application note SLAAEH0 (Nov 2023), section 1.5.3"},
	{"preambles swallowed", "at most 1 of a message", "carrier detected within 6 bit times: Texas Instruments data sheet DAC8742H (JAJSGM3), timing table"},
	{"preambles left", "2 or more of 5", "FieldComm Group support article 8000040648"},
	{"turn-around", "heard at most 11 bit times later than sent", "carrier on within 5 bit times and detected within 6: Texas Instruments data sheet DAC8742H (JAJSGM3), timing table"},
	{"gaps", "at most one character within a message", "FieldComm Group support article 8000040648"},
	{"pauses", "messages sent apart come apart", "common practice"},
	{"carrier on", "at most 5 bit times before the preamble", "Allen-Bradley 1797-6.5.3 (2006), p.C-2"},
	{"carrier off", "at most 5 bit times behind the check byte, and told within 3 ms", "Allen-Bradley 1797-6.5.3 (2006), p.C-2; Texas Instruments data sheet DAC8742H (JAJSGM3), timing table"},
	{"slave time-out", "a reply begins within 28 characters", "FieldComm Group support article 8000040648"},
	{"tones", "1200 and 2200 Hz, the phase without a jump", "Texas Instruments application note SLAAEH0 (Nov 2023), section 1.5.3"},
	{"carrier detection", "at 120 mV peak to peak always, below 80 mV never", "Texas Instruments application note SLAAER4 (Mar 2025), section 3.4.8, table 3-8"},
}

func (t *Timing) bits(n int) time.Duration {
	return t.character() * time.Duration(n) / serialio.CharacterBits
}

// What a port could not have told earlier does not count.

func (t *Timing) mostDelay() time.Duration {
	return t.bits(carrierBits+detectBits) + t.Lateness
}

func (t *Timing) mostCarrierOn() time.Duration { return t.bits(carrierBits) + t.Lateness }

func (t *Timing) mostCarrierOff() time.Duration {
	return t.bits(carrierBits) + detectOff + t.Lateness
}

func (t *Timing) mostResponse() time.Duration {
	return slaveTimeOut*t.character() + t.Lateness
}
