package modemcheck

import (
	"time"

	"looptone/frame"
)

// A Way is what one end sent and the other heard, compared. Counts are of characters
// where nothing else is said.
type Way struct {
	From, To string // what the ends are called
	Timing   Timing

	Sent, Heard int
	Values      int // different byte values that were sent
	Lost, Wrong int // preambles that a modem has swallowed are not lost
	Stray       Stray
	Parity      int // heard with a wrong parity bit
	Framing     int // heard with a wrong stop bit
	Swallowed   Swallowed
	Messages    Messages
	Gaps        Gaps
	Delay       Delay
	Carrier     Carrier
}

// Stray counts what was heard and not sent, by where it came.
type Stray struct {
	On      int // right before a message
	Off     int // right behind one
	Between int // between two that were back to back
	Inside  int // within one
	Silence int // further away from any
}

// All is how many there are.
func (s *Stray) All() int { return s.On + s.Off + s.Between + s.Inside + s.Silence }

// Swallowed counts preambles of which a modem let none through before them.
type Swallowed struct {
	Preambles int
	Messages  int // that lack some
	Most      int // of one message
}

// Messages counts messages by what became of them.
type Messages struct {
	Sent    int
	Whole   int // as they were sent, with two preambles or more
	Damaged int
	Lost    int // less than half of the characters came
	Apart   int // spaced from the one before, and both came
	Joined  int // of those, that came with a character's pause at most, or without
}

// Gaps are silences within a message that were not sent.
type Gaps struct {
	Count   int // longer than a character
	Longest time.Duration
	Seen    int // messages whose characters came one by one, so that a gap would show
}

// Delay is how much later than it was sent a message is heard.
type Delay struct {
	Messages    int // that came
	Late        int // of those, later than [MostDelay] and the lateness of the port
	Least, Most time.Duration
}

// Carrier is what a port told of the carrier of messages.
type Carrier struct {
	On, Off CarrierEdge // before a first start bit, behind a last stop bit
}

// A CarrierEdge is what a port told of one end of carriers.
type CarrierEdge struct {
	Messages int // of which it was told
	Late     int // of those, that were longer than published
	Longest  time.Duration
}

// Compare holds what was heard against what was sent, both in the order of time.
func Compare(sent []Sent, heard []frame.Arrival, t Timing) *Way {
	w := &Way{Timing: t}
	if len(sent) == 0 {
		return w
	}
	origin := sent[0].At
	c := comparison{Way: w, sent: t.sentChars(sent, origin), heard: t.heardChars(heard, origin)}
	a := aligner{sent: c.sent, heard: c.heard, character: t.character(), lateness: t.Lateness}
	c.partners = a.align()
	c.count(len(sent))
	c.messages(len(sent))
	c.strays()
	c.carrier(heard, origin)
	return w
}

// A comparison is a Way that is being filled.
type comparison struct {
	*Way
	sent     []sentChar
	heard    []heardChar
	partners []int32
	came     []cameMessage
}

func (c *comparison) count(messages int) {
	c.Sent, c.Heard, c.Messages.Sent = len(c.sent), len(c.heard), messages
	var values [256]bool
	for _, s := range c.sent {
		if !values[s.value] {
			values[s.value] = true
			c.Values++
		}
	}
	for _, h := range c.heard {
		if h.parity {
			c.Parity++
		}
		if h.framing {
			c.Framing++
		}
	}
}
