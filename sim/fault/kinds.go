package fault

import (
	"looptone/sim"
	"looptone/sim/device"
)

// kind is a kind of fault with what it does: one of the functions, or begin and
// end together.
type kind struct {
	Kind
	notHost string // why it cannot act on what a host sends, in words; empty where it can

	// message changes a message; struck is false where it has nothing to act on.
	message func(f *active, m *message) (struck bool)
	// trouble adds to what is wrong when a device answers a request.
	trouble func(s *Set, f *active, now sim.Tick, t *device.Trouble)
	writes  bool // requests that write only
	// tune adds to how a seat hears.
	tune func(f *active, t *tuning)
	// begin and end frame a fault that has something on the line or on a device, or
	// acts at times of its own.
	begin, end func(s *Set, f *active, now sim.Tick)
	// able refuses what the device cannot do; nil where there is nothing.
	able func(s *Set, f *active) error
}

// Why a fault cannot act on what comes in from a host.
const (
	wholeOnly  = "what comes in from a host is on the line character by character, and this fault needs the whole message"
	noCarrier  = "a host has no carrier that could be changed"
	notCarried = "a host is told of no carrier"
)

// kinds are all there are: what strikes messages, what strikes devices, what
// strikes those who listen, and what strikes the line.
//
// Source: Texas Instruments application note SLAAER4 (Mar 2025), 3.4.8 table 3-8
// (levels of a weak signal); FieldComm Group support article 8000040648 (28
// characters); the rest of what they say of the wires is common practice.
var kinds = []kind{
	{message: flipBits, Kind: Kind{Name: "bit errors", Strikes: "talker",
		What:     "Some bits arrive as the opposite of what was sent; an odd number of them in a character shows in its parity, an even number only in the check byte.",
		Settings: []Setting{{Name: "bit_error_rate", What: "chance of each of the 10 bits behind a start bit", Most: 0.5, Usual: 0.001}},
		Crosses:  "A host sees the bytes that result, never the parity and framing errors that a UART on the wires would see; bits of what the host sends flip too, and the devices see those errors."}},
	{message: loseCharacters, Kind: Kind{Name: "lost characters", Strikes: "talker",
		What:     "Now and then a character never reaches the wires, as when the sender overwrites it before it has left, and what comes behind closes up.",
		Settings: []Setting{{Name: "loss_rate", What: "chance of each character", Most: 1, Usual: 0.01}},
		Crosses:  "A host sees that bytes are missing; bytes of what the host sends get lost too."}},
	{message: doubleCharacters, Kind: Kind{Name: "doubled characters", Strikes: "talker",
		What:     "Now and then a character is on the wires twice, and all that comes behind is one character later.",
		Settings: []Setting{{Name: "doubling_rate", What: "chance of each character", Most: 1, Usual: 0.01}},
		Crosses:  "A host sees the bytes twice; bytes of what the host sends are doubled too."}},
	{message: openGap, notHost: wholeOnly, Kind: Kind{Name: "gap inside a frame", Strikes: "talker",
		What:     "The sender stops for a while in the middle of a message, with its carrier on; whoever hears more than one character time of nothing gives the message up.",
		Settings: []Setting{{Name: "gap_chars", What: "length of the gap in characters; its place is left to chance", Least: 0.01, Most: 330, Usual: 3}},
		Crosses:  "A host sees the gap in the times of the bytes, as well as its hook-up keeps time."}},
	{message: swallowPreamble, notHost: wholeOnly, Kind: Kind{Name: "swallowed preamble", Strikes: "talker",
		What:     "The receivers need a while until they hear anything, and miss the first characters of the preamble; that is what it is there for, as long as two of them are left.",
		Settings: []Setting{{Name: "swallowed_chars", What: "preamble characters that are not heard", Least: 1, Most: 20, Usual: 3, Whole: true}},
		Crosses:  "A host sees a shorter preamble."}},
	{message: miscount, notHost: wholeOnly, Kind: Kind{Name: "wrong byte count", Strikes: "talker",
		What: "The byte count promises more or fewer bytes than there are, so that the check byte is looked for in the wrong place; the check byte itself fits.",
		Settings: []Setting{{Name: "count_off_bytes", What: "by how much the count is too large, or below 0 too small; it stays between 0 and 255",
			Least: -255, Most: 255, Usual: 1, Whole: true, NotZero: true}},
		Crosses: "A host sees all of it."}},
	{message: spoilCheckByte, notHost: wholeOnly, Kind: Kind{Name: "wrong check byte", Strikes: "talker",
		What:    "The check byte does not fit the bytes in front of it, so nobody may believe any of them.",
		Crosses: "A host sees all of it."}},
	{message: readdress, notHost: wholeOnly, Kind: Kind{Name: "wrong address", Strikes: "talker",
		What:    "One bit of the address is another one, and the check byte fits: the message is whole, but somebody else is meant.",
		Crosses: "A host sees all of it."}},
	{message: addStray, notHost: wholeOnly, Kind: Kind{Name: "stray characters", Strikes: "talker",
		What:     "Behind the check byte come characters that mean nothing; they must spoil neither the message nor the next one.",
		Settings: []Setting{{Name: "stray_chars", What: "characters behind the check byte", Least: 1, Most: 20, Usual: 1, Whole: true}},
		Crosses:  "A host sees the bytes."}},
	{message: addHalf, notHost: noCarrier, Kind: Kind{Name: "half character", Strikes: "talker",
		What:    "The carrier goes off in the middle of one more character, and a receiver reads what is missing of it as ones.",
		Crosses: "A host sees one more byte, never its parity error."}},
	{message: holdCarrier, notHost: noCarrier, Kind: Kind{Name: "stuck carrier", Strikes: "talker",
		What:     "A carrier stays on behind the message, so that everybody else takes the line for busy and waits.",
		Settings: []Setting{{Name: "stuck_s", What: "how much longer the carrier is on", Least: 0.001, Most: 3600, Usual: 2}},
		Crosses:  "A host sees no carrier; it sees that the others are silent for so long."}},
	{message: weaken, notHost: "what a host sends has the level of its own hook-up", Kind: Kind{Name: "weak signal", Strikes: "talker",
		What:     "The tones arrive weakly: from 120 millivolts peak to peak on a receiver must hear them, below 80 it must not, and in between it may.",
		Settings: []Setting{{Name: "level_v", What: "volts peak to peak at the receivers", Least: 0.001, Most: 10, Usual: 0.1}},
		Crosses:  "A host sees no level: of what is too weak it hears nothing."}},

	{trouble: delayReply, Kind: Kind{Name: "late reply", Strikes: "device",
		What:     "The device takes longer to reply; when the reply begins more than 28 characters behind the request, the master counts it as missing.",
		Settings: []Setting{{Name: "delay_chars", What: "delay in characters, on top of the device's latency", Least: 0.01, Most: 330, Usual: 30, Needed: true}},
		Crosses:  "A host sees all of it, as well as its hook-up keeps time."}},
	{trouble: swallowReply, Kind: Kind{Name: "no reply", Strikes: "device",
		What:    "The device does what it was asked, and does not reply.",
		Crosses: "A host sees all of it."}},
	{trouble: pretendBusy, Kind: Kind{Name: "busy", Strikes: "device",
		What:    "The device replies that it is busy, and the master asks again later.",
		Crosses: "A host sees all of it."}},
	{trouble: delayWrite, writes: true, Kind: Kind{Name: "delayed response", Strikes: "device",
		What:     "What is to be written takes longer than a reply may; the device says so at once, or before revision 7 that it is busy, and the master asks again until it is told the result.",
		Settings: []Setting{{Name: "write_ms", What: "how long the device works on what is written", Least: 257, Most: 600_000, Usual: 5000}},
		Crosses:  "A host sees all of it."}},
	{trouble: restartWhenAsked, begin: beginRestarts, end: endRestarts, Kind: Kind{Name: "restart", Strikes: "device",
		What: "The device loses its power and comes back after a while, with a cold start in its status and without what it had not stored.",
		Settings: []Setting{
			{Name: "down_s", What: "how long it is gone", Least: 0.001, Most: 86_400, Usual: 2},
			{Name: "every_s", What: "how often it loses its power, the first time at from; 0: by chance when it is asked", Most: 86_400},
		},
		Crosses: "A host sees silence, and the status behind it."}},
	{begin: borrowAddress, end: returnAddress, able: canBorrow, Kind: Kind{Name: "shared address", Strikes: "device", Lasts: true,
		What:  "Two devices have one polling address, so both answer who asks for that address at the same time, and their bits spoil each other.",
		Other: "the device whose polling address it gets", OtherKey: "with",
		Crosses: "A host sees the bytes that result, never the parity and framing errors that a UART on the wires would see."}},
	{begin: beginBabble, end: endChatter, Kind: Kind{Name: "babble", Strikes: "device",
		What: "The device talks without being asked, and into what others say.",
		Settings: []Setting{
			{Name: "every_s", What: "time between two of its speeches, on the average", Least: 0.01, Most: 86_400, Usual: 10},
			{Name: "babble_chars", What: "characters of one of them, behind a preamble", Least: 1, Most: 250, Usual: 20, Whole: true},
		},
		Crosses: "A host sees the bytes."}},

	{tune: delayDetect, notHost: notCarried, Kind: Kind{Name: "late carrier detect", Strikes: "talker", Lasts: true,
		What:     "The station notices a carrier only after a while, and may begin to talk into it until then.",
		Settings: []Setting{{Name: "detect_bits", What: "how long a carrier is on until it is noticed, in bits", Least: 0.1, Most: 11_000, Usual: 6}},
		Crosses:  "A host sees only what comes of it: spoilt bytes."}},
	{tune: hearOneself, Kind: Kind{Name: "own echo", Strikes: "talker", Lasts: true,
		What:    "The station hears what it sends itself, as on an interface whose receiver stays on while it sends.",
		Crosses: "A host that is the talker sees every byte that it sends come back."}},

	{begin: beginNoise, end: endChatter, Kind: Kind{Name: "noise", Strikes: "line",
		What: "Something strong beside the cable, such as a motor that starts, puts bits on the wires that nobody has sent.",
		Settings: []Setting{
			{Name: "every_s", What: "time between two bursts of noise, on the average", Least: 0.01, Most: 86_400, Usual: 5},
			{Name: "noise_chars", What: "characters of one of them at the most", Least: 1, Most: 250, Usual: 3, Whole: true},
			{Name: "level_v", What: "volts peak to peak at the receivers; from twice a carrier's level on, only the noise is heard", Least: 0.001, Most: 10, Usual: 0.5},
		},
		Crosses: "A host sees the bytes that result, never their parity and framing errors."}},
	{begin: beginCut, end: endCut, Kind: Kind{Name: "line cut", Strikes: "line", Lasts: true,
		What:  "The wires are broken at one place, and all devices behind it have neither power nor a line, until they are mended.",
		Other: "the last device that is still on the wires", OtherKey: "behind", NoOther: "in front of all devices",
		Crosses: "A host sees that these devices are silent."}},
	{begin: beginRival, end: endRival, Kind: Kind{Name: "second primary master", Strikes: "line", Lasts: true,
		What:     "Somebody has connected another master that takes itself for the primary one too: both take the same turns, talk at the same time, and each takes the other's replies for its own.",
		Settings: []Setting{{Name: "every_s", What: "time from one of its requests to the next", Least: 0.1, Most: 86_400, Usual: 1}},
		Crosses:  "A host sees requests that it has not sent, and the replies to them."}},
}
