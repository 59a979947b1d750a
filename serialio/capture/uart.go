package capture

import (
	"math"
	"math/bits"
	"time"

	"looptone/frame"
)

// level is what a wire is at.
type level int8

const (
	unknown level = iota // x and z of a VCD; what is before the first change
	low
	high
)

// Bits of a character: a start bit, eight of data, one of odd parity, a stop bit.
const (
	startBit  = 0
	parityBit = 9
	stopBit   = 10
	allBits   = 11
)

// glitch is how long a level stays at least. A shorter one, an eighth of a bit, is
// taken for no level at all, as receivers do that sample eight times a bit or more.
//
// Source: common practice.
const glitch = time.Second / 1200 / 8

// inBits is when the middle of bit n is, behind the edge of the start bit.
func inBits(n int64) time.Duration { return time.Duration((2*n + 1) * int64(time.Second) / 2400) }

// never is behind all times.
const never = time.Duration(math.MaxInt64)

// uart finds the characters in the levels of a wire that rests high: 1200 bit/s,
// eight bits, odd parity, one stop bit. It counts all bits from the edge of the
// start bit and looks at each in its middle, so a clock may be wrong by 4 %.
//
// A level low for a whole character is a break: 00 with Framing. Where a stop bit is
// low, but not all bits were, the next character is taken to follow at once, unless
// the wire goes high before. When that begins is reckoned from the last edge, and then
// from its own first one.
type uart struct {
	got func(pulse) // is called with each character when it is complete

	// The level that came last, which may be a glitch still.
	fresh   level
	freshAt time.Duration
	freshIn Position

	now level // without glitches
	in  Position

	receiving bool
	begin     time.Duration // edge of the start bit
	rest      time.Duration // the wire was high before that since then
	place     Position      // where that edge stands
	bit       int64         // the one that is looked at next
	data      uint16        // bits so far; the first in bit 0
	doubtful  bool          // a level was unknown
	phase     time.Duration // when it began by its last edge and a right clock
	reckoned  bool          // begin is, and no edge has told better
	overrun   time.Duration // behind a stop bit that was low: when the next start bit would begin; never for nowhere

	lowFor, highFor time.Duration // altogether
	since           time.Duration // what of it was counted
}

// pulse is a character as a uart reads it.
type pulse struct {
	begin time.Duration
	rest  time.Duration // behind a break: when the wire came to rest
	place Position
	char  byte
	marks frame.Mark
}

func newUART(got func(pulse)) *uart { return &uart{got: got, overrun: never} }

// change takes over that the wire has another level from at on. Times do not run
// backwards.
func (u *uart) change(at time.Duration, to level, place Position) {
	u.until(at)
	if to == u.fresh {
		return
	}
	if u.fresh != u.now && to == u.now { // as if nothing had been
		u.fresh = to
		return
	}
	u.fresh, u.freshAt, u.freshIn = to, at, place
}

// until looks at all bits whose middle lies so far before at that no glitch is left
// in doubt.
func (u *uart) until(at time.Duration) {
	if u.fresh != u.now && at-u.freshAt >= glitch {
		u.sample(u.freshAt)
		u.settle()
		u.edge(u.freshAt, u.freshIn)
	}
	if u.fresh == u.now {
		u.sample(at)
	}
}

// settle counts how long the wire was at the level that ends now.
func (u *uart) settle() {
	switch u.now {
	case low:
		u.lowFor += u.freshAt - u.since
	case high:
		u.highFor += u.freshAt - u.since
	}
	u.since = u.freshAt
}

// edge takes over a level that is no glitch.
func (u *uart) edge(at time.Duration, place Position) {
	before := u.now
	u.now, u.in = u.fresh, place
	switch {
	case u.receiving:
		u.align(at)
	case u.now != low:
		u.overrun, u.rest = never, at
	case before == high:
		u.start(at, place)
	}
}

// align takes an edge within a character for that of the nearest bit.
func (u *uart) align(at time.Duration) {
	n := (int64(at-u.begin)*1200 + int64(time.Second)/2) / int64(time.Second)
	u.phase = at - time.Duration(n*int64(time.Second)/1200)
	if u.reckoned {
		u.begin, u.reckoned = u.phase, false
	}
}

func (u *uart) start(at time.Duration, place Position) {
	u.receiving, u.begin, u.phase, u.place, u.reckoned = true, at, at, place, false
	u.bit, u.data, u.doubtful, u.overrun = 0, 0, false, never
}

// sample looks at all bits whose middle lies before at, while the level is what it is.
func (u *uart) sample(at time.Duration) {
	for {
		switch {
		case u.receiving && u.begin+inBits(u.bit) < at:
			u.look()
		case !u.receiving && u.overrun < at:
			u.start(u.overrun, u.in)
			u.reckoned = true
		default:
			return
		}
	}
}

// look looks at one bit.
func (u *uart) look() {
	u.doubtful = u.doubtful || u.now == unknown
	if u.now != low {
		u.data |= 1 << u.bit
	}
	u.bit++
	switch {
	case u.bit == startBit+1 && u.now != low:
		u.receiving = false // no start bit: too short
	case u.bit == allBits:
		u.receiving = false
		u.got(u.read())
	}
}

// read is the character whose bits are all there.
func (u *uart) read() pulse {
	p := pulse{begin: u.begin, rest: u.rest, place: u.place, char: byte(u.data >> 1)}
	ones := bits.OnesCount16(u.data & (1<<stopBit - 1))
	switch {
	case u.data == 0: // a break
		p.marks = frame.Framing
	case u.data&(1<<stopBit) == 0:
		p.marks = frame.Framing
		u.overrun = u.phase + frame.Characters(1)
		fallthrough
	default:
		if ones%2 == 0 {
			p.marks |= frame.Parity
		}
	}
	if u.doubtful {
		p.marks |= frame.Framing
	}
	return p
}

// end finishes what is being read, if the wire has gone back to rest: a capture of
// changes ends with the last one. What is cut off otherwise is no character.
func (u *uart) end() {
	if u.fresh == high {
		u.until(u.freshAt + 2*frame.Characters(1))
	}
}
