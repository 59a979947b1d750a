package sim

import "looptone/frame"

// A Station is something on the line: a device, a master, a port. It never
// sleeps and reads no clock: the line steps it whenever it hears something or
// the moment has come that it asked to be woken at.
//
// Step returns what to send, if anything, from now on or later, and when to be
// woken at the latest: [Never], or a moment behind now. A burst that was
// returned is sent, whatever is heard meanwhile. What heard points to is valid
// during the call only; the line owns the burst until its carrier is off.
type Station interface {
	Step(now Tick, heard []Heard) (send *Burst, wake Tick)
}

// A Looker says whether it looks before it talks: it is told of carriers only while
// Looks reports true. Stations that do not say are told always.
type Looker interface{ Looks() bool }

// Heard is something that a station heard: an event, or a carrier that went on
// or off.
type Heard struct {
	At      Tick        // when no later character could change it any more
	Begin   Tick        // edge of the first start bit of the event, preambles included
	Start   Tick        // edge of the start bit behind the preambles, or End where nothing is
	End     Tick        // end of the last stop bit of the event
	Event   frame.Event // Outcome 0 where Carrier is set
	Carrier int8        // +1 carrier on, -1 carrier off
}

// A Listener is a station that hears characters: a port to somewhere outside.
// Expect tells it which characters it will hear from now on, and when the carrier
// goes off, if nobody else begins to talk. They replace those told before that
// end later than now.
type Listener interface {
	Station
	Expect(now Tick, chars []Char, off Tick)
}

// A Char is a character as a receiver hears it.
type Char struct {
	Value      byte
	Mark       frame.Mark
	Start, End Tick // edge of the start bit, end of the stop bit
}

// A Medium is what happens to characters between the stations that send them and
// those that hear them: what is wrong with a line.
type Medium interface {
	// Send is given what a station sends, before its carrier goes on, and returns
	// what is on the line in its place; nil for nothing. It may change b. A station
	// that is on the line for longer than it meant to be notices the carrier.
	Send(now Tick, talker *Seat, b *Burst) *Burst
	// Arrive is the same for characters that come in from outside, as they come.
	Arrive(now Tick, port *Seat, chars []byte, marks []frame.MarkAt) ([]byte, []frame.MarkAt)
}
