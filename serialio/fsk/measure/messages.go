package measure

import (
	"looptone/frame"
	"looptone/serialio/fsk"
)

// messages finds messages in characters, and holds when the characters were.
type messages struct {
	decoder frame.Decoder
	times   []moment // of characters that are in no event yet
	first   int64    // number of the first of them
	last    moment

	Messages
	preambles, response tally

	asked   float64 // end of the last request, if that is what came last
	waiting bool
	device  bool // has talked on this carrier
	master  bool
}

// A moment is when a character was.
type moment struct{ at, bit float64 }

func (t moment) end() float64 { return t.at + characterBits*t.bit }

// Messages are what was said.
type Messages struct {
	Whole, Damaged int
	Noise          int64  // characters that are in no message
	Preambles      Spread // of whole messages
	LongestGap     float64
	Gaps           int // between characters of a message, longer than a character
	Response       Spread
	Late           int // replies behind the slave time-out
}

// mostGap is the longest time from the end of a character to the next one of its message,
// in bits.
const mostGap = characterBits

// slaveTimeOut is in characters.
const slaveTimeOut = 28

func (m *messages) add(h *fsk.Heard) {
	now := moment{h.At, h.Bit}
	at := m.decoder.Pos()
	var marks []frame.MarkAt
	if m.last.bit > 0 && now.at-m.last.end() > mostGap*now.bit {
		marks = append(marks, frame.MarkAt{Pos: at, Mark: frame.Gap})
	}
	if h.Mark != 0 {
		marks = append(marks, frame.MarkAt{Pos: at, Mark: h.Mark})
	}
	m.last = now
	m.times = append(m.times, now)
	m.decoder.Feed([]byte{h.Char}, marks)
	m.events()
}

// cut says that the carrier went off.
func (m *messages) cut() {
	m.decoder.End()
	m.last = moment{}
	m.events()
}

func (m *messages) end() {
	m.cut()
	m.Preambles, m.Response = m.preambles.spread(), m.response.spread()
}

func (m *messages) events() {
	var ev frame.Event
	for m.decoder.Next(&ev) {
		m.event(&ev)
		m.times = m.times[:copy(m.times, m.times[ev.End-m.first:])]
		m.first = ev.End
	}
}

func (m *messages) event(ev *frame.Event) {
	chars := m.times[:ev.End-m.first]
	if ev.Outcome == frame.Noise {
		m.Noise += ev.End - ev.Start
		return
	}
	for i := 1; i < len(chars); i++ {
		gap := (chars[i].at - chars[i-1].end()) / chars[i].bit
		m.LongestGap = max(m.LongestGap, gap)
		if gap > mostGap {
			m.Gaps++
		}
	}
	if ev.Outcome == frame.Damaged {
		m.Damaged++
		m.waiting = false
		return
	}
	m.Whole++
	m.preambles.add(float64(ev.Preambles), 1)
	m.turn(&ev.Frame, chars)
}

// turn measures how long a reply took, from the end of its request to its first start bit.
func (m *messages) turn(f *frame.Frame, chars []moment) {
	last := chars[len(chars)-1]
	m.device = m.device || f.Kind.FromSlave()
	m.master = m.master || !f.Kind.FromSlave()
	switch {
	case f.Kind == frame.STX:
		m.asked, m.waiting = last.end(), true
		return
	case f.Kind == frame.ACK && m.waiting:
		took := chars[0].at - m.asked
		m.response.add(took, 1)
		if took > slaveTimeOut*characterBits/fsk.BitRate {
			m.Late++
		}
	}
	m.waiting = false
}
