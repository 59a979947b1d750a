package stimulus

import (
	"math"

	"looptone/serialio/fsk"
)

// A recipe is how one waveform is made. What is zero is as usual.
type recipe struct {
	name, does   string
	must, source string
	limits       []string

	level     float64 // mV peak to peak
	voice     fsk.Voice
	channel   fsk.Channel // amplitudes in millivolts
	ebn0      float64     // dB; 0 for no noise
	messages  int
	preambles int     // of each message; 0 for 5 to 20
	gap       float64 // characters, once inside each message
	off       float64 // seconds without a carrier before each message
	steady    bool    // the carrier stays on between messages
	tones     int     // carriers without characters, in place of messages
	around    bool    // a message at the usual level before and behind
	second    float64 // mV peak to peak of somebody else who talks meanwhile
}

// usualMessages is how many messages a waveform has: all values of a byte are among them,
// and all lengths from 0 to 255 data bytes in even steps.
const usualMessages = 6

// noisyMessages are so many that 1 in 100 can be told.
const noisyMessages = 12

// Texts that several recipes have.
const (
	hears       = "hear every message as it was sent"
	either      = "nothing: either is right, and the figures tell what the modem does"
	between     = "hear the messages at 500 mV before and behind; what it makes of those between, either is right"
	detectTable = "Texas Instruments application note SLAAER4 (Mar 2025), section 3.4.8, table 3-8"
	toneRule    = "1 % of tones and bit rate is what a sender is allowed: from memory"
	preambles   = "5 to 20 preambles: Texas Instruments application note SLAAEH0 (Nov 2023), section 1.5.2"
	twoNeeded   = "2 preambles are enough for a receiver: FieldComm Group support article 8000040648; carrier detected within 6 bit times: Texas Instruments data sheet DAC8742H (JAJSGM3), timing table"
	gapRule     = "up to one character is no gap: FieldComm Group support article 8000040648"
	band        = "a receiver lets about 500 Hz to 10 kHz pass: Texas Instruments application note SLAAEH0 (Nov 2023), sections 1.5.3.1 and 1.5.3.2"
	cableRule   = "R·C below 65 µs: Siemens Pointek CLS500 7ML19985GG03, p.30; Yokogawa IM 01R04B04-00E, p.6-1"
	practice    = "common practice"
	noLimit     = ""
)

// hearsWell are the limits of a modem that hears well.
var hearsWell = []string{"messages", "characters lost", "characters wrong", "stray characters", "parity and framing", "preambles swallowed"}

// hearsCharacters are those without the messages: of preambles too few for one.
var hearsCharacters = hearsWell[1:]

// recipes are the waveforms of a set, in the order of playing.
var recipes = []recipe{
	{name: "clean", does: "as the standard has it", must: hears, source: practice, limits: hearsWell},
	level(70, "not detect the carrier", detectTable, "carrier below 80 mV"),
	level(80, between, practice),
	level(90, between, practice),
	level(100, between, practice),
	level(110, between, practice),
	level(120, hears, detectTable, hearsWell...),
	level(150, hears, detectTable, hearsWell...),
	level(250, hears, detectTable, hearsWell...),
	level(800, hears, detectTable, hearsWell...),
	{name: "tone-70", does: "a carrier without characters, 70 mV peak to peak", level: 70, tones: 5, around: true,
		must: "not detect the carrier", source: detectTable, limits: []string{"carrier below 80 mV", "stray characters", "messages around"}},
	{name: "tone-80", does: "a carrier without characters, 80 mV peak to peak", level: 80, tones: 5, around: true,
		must: "make no characters of it; to detect it or not, either is right", source: practice, limits: []string{"stray characters", "messages around"}},
	{name: "tone-120", does: "a carrier without characters, 120 mV peak to peak", level: 120, tones: 5, around: true,
		must: "detect the carrier, and make no characters of it", source: detectTable, limits: []string{"carrier at 120 mV", "stray characters", "messages around"}},
	{name: "clock-fast", does: "the sender's clock, and with it tones and bits, 1 % fast", voice: fsk.Voice{ClockPPM: -10000},
		must: hears, source: toneRule, limits: hearsWell},
	{name: "clock-slow", does: "the sender's clock, and with it tones and bits, 1 % slow", voice: fsk.Voice{ClockPPM: 10000},
		must: hears, source: toneRule, limits: hearsWell},
	{name: "tones-high", does: "both tones 1 % high, bits as usual", voice: fsk.Voice{MarkPPM: 10000, SpacePPM: 10000},
		must: hears, source: toneRule, limits: hearsWell},
	{name: "tones-low", does: "both tones 1 % low, bits as usual", voice: fsk.Voice{MarkPPM: -10000, SpacePPM: -10000},
		must: hears, source: toneRule, limits: hearsWell},
	noise(14, "hear 99 of 100 characters as they were sent", noiseTheory, "characters in noise"),
	noise(12, either, noLimit),
	noise(11, either, noLimit),
	noise(10, either, noLimit),
	noise(9, either, noLimit),
	hum(50),
	hum(60),
	gap(0.5, hears, gapRule),
	gap(0.9, hears, gapRule),
	gap(1.1, "hand on every character; that it is a gap is for who reads them", gapRule),
	gap(2, "hand on every character; that it is a gap is for who reads them", gapRule),
	off(20),
	off(50),
	off(200),
	{name: "preambles-2", does: "2 preambles before each message, fewer than may be sent", preambles: 2,
		must: "hear every character but for one preamble", source: twoNeeded, limits: hearsCharacters},
	short(3, twoNeeded),
	short(4, twoNeeded),
	short(5, preambles),
	short(20, preambles),
	{name: "trapezoid", does: "trapezoids in place of sines", voice: fsk.Voice{Shape: fsk.Trapezoid}, must: hears, source: practice, limits: hearsWell},
	{name: "cable", does: "through a cable with 65 µs", channel: fsk.Channel{RC: 65e-6}, must: hears, source: cableRule, limits: hearsWell},
	{name: "second-talker", does: "somebody else talks meanwhile, 12 dB weaker", level: 400, second: 100, must: either, source: noLimit},
}

// level is a step of the level. Below the one at which every carrier is detected, messages at
// the usual level stand around it.
func level(mv float64, must, source string, limits ...string) recipe {
	around := mv < 120
	if around {
		limits = append(limits, "messages around")
	}
	return recipe{name: "level-" + number(mv), does: "tones of " + number(mv) + " mV peak to peak",
		level: mv, around: around, must: must, source: source, limits: limits}
}

// noise is white noise beside tones that are low enough for a sound card to bear it.
func noise(db float64, must, source string, limits ...string) recipe {
	return recipe{name: "noise-" + number(db), does: "white noise, Eb/N0 " + number(db) + " dB, the carrier on throughout",
		level: 150, ebn0: db, steady: true, messages: noisyMessages, must: must, source: source, limits: limits}
}

func hum(hz float64) recipe {
	return recipe{name: "hum-" + number(hz), does: "mains hum of " + number(hz) + " Hz, 1 V peak to peak, twice the tones",
		channel: fsk.Channel{Hum: 1000, HumHz: hz}, must: hears, source: band, limits: hearsWell}
}

// gap has a name by the hundredth of a character.
func gap(characters float64, must, source string) recipe {
	return recipe{name: "gap-" + number(math.Round(100*characters)), does: "the line idle for " + number(characters) + " characters once inside each message, carrier on",
		gap: characters, must: must, source: source, limits: hearsWell}
}

func off(ms float64) recipe {
	return recipe{name: "off-" + number(ms), does: "the carrier off for " + number(ms) + " ms between messages",
		off: ms / 1000, must: hears, source: practice, limits: hearsWell}
}

func short(n int, source string) recipe {
	return recipe{name: "preambles-" + number(float64(n)), does: number(float64(n)) + " preambles before each message",
		preambles: n, must: hears, source: source, limits: hearsWell}
}
