package exchange

import (
	"time"

	"looptone/frame"
	"looptone/frame/payload"
)

// A Message is an event with what it means in the conversation, or the news that
// a request stayed without a reply. It is valid until the next call of Follow.
type Message struct {
	// Event is never nil. That of an unanswered request has no characters: it
	// stands where the wait ended, and Frame is the request without what is in
	// front of its address.
	*frame.Event
	Number         int // from 1; an echo has none
	Stream         int
	Span           Span
	Device         *Device             // that a frame is to or from; nil where it has not introduced itself
	Definition     *payload.Definition // of a frame's command; nil where nothing is known of it
	Reading        payload.Reading     // of a frame's data
	ReplyTo        int                 // number of the request that a reply belongs to; 0 for none
	RequestDamaged bool                // that request could be read up to its command only
	RequestToAll   bool                // that request was to all devices
	Response       Elapsed             // of a reply: end of the request to the first start bit; not known of one that was heard damaged
	RetryOf        int                 // number of the request that this one repeats; 0 for none
	Unanswered     int                 // number of the request that stayed unanswered; 0 for every other message
	Waited         Elapsed             // by whoever asked; known for unanswered requests only
	Damage         int                 // of an unanswered request, number of the damage heard instead of a reply; 0 for none
	EchoOf         int                 // number of the frame that was heard before on another stream; 0 for every other message
	AlsoHeard      int                 // number of what another stream heard at the same time, where one of the two is damaged; 0 for none
	Rival          *Device             // another device with the same polling address; told once for an address
}

// A Span is when an event was on the line, from some beginning on. The zero Span
// is one that is not known.
type Span struct {
	Known  bool
	Begin  time.Duration // first start bit, preambles included
	Start  time.Duration // start bit of the delimiter
	End    time.Duration // last stop bit
	Late   time.Duration // by which these may lie behind what they are of
	Pause  time.Duration // the longest between two characters that is known of
	Origin time.Time     // wall clock of that beginning; zero where it is not known
}

// Clock is when the delimiter began by the wall clock, if that is known.
func (s *Span) Clock() (at time.Time, known bool) {
	if !s.Known || s.Origin.IsZero() {
		return time.Time{}, false
	}
	return s.Origin.Add(s.Start), true
}

// moment is one moment, at the beginning of s or another.
func (s Span) moment(at time.Duration) Span {
	s.Begin, s.Start, s.End, s.Pause = at, at, at, 0
	return s
}

// Elapsed is a time that may not be known.
type Elapsed struct {
	Known       bool
	Time        time.Duration
	Uncertainty time.Duration // by which it may be wrong either way
}

// Unasked reports whether m is a reply that nobody asked for.
func (m *Message) Unasked() bool {
	return m.Outcome == frame.Whole && m.EchoOf == 0 && m.Frame.Kind == frame.ACK && m.ReplyTo == 0
}

// strayLen is how many characters can come of a carrier that begins or ends.
//
// Source: Texas Instruments SLAAEH8, section 3.5.1, table 3-9 (dribble bytes
// behind a reply); their number is common practice.
const strayLen = 2

// IsStray reports whether m is noise so short that it can come of a carrier that
// begins or ends.
func (m *Message) IsStray() bool {
	return m.Outcome == frame.Noise && m.characters() <= strayLen
}

// characters is the number of characters of m on its stream.
func (m *Message) characters() int64 { return m.End - m.Start + int64(m.Preambles) }

// kindOf is the frame type as far as it was heard; 0 where it was not.
func kindOf(ev *frame.Event) frame.Kind {
	if ev.Outcome == frame.Whole || fieldOf(ev) > frame.FieldDelimiter {
		return ev.Frame.Kind
	}
	return 0
}

// fieldOf is where the reading of damage stood; 0 for a whole frame and for
// plain noise.
func fieldOf(ev *frame.Event) frame.Field {
	if fault, ok := ev.Err.(*frame.FaultError); ok {
		return fault.Field
	}
	return 0
}
