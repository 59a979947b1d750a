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
	before  float64 // end of the character in front of them; 0 for none
	until   float64 // end of the waveform; 0 before that

	Messages
	preambles, response tally

	asked   float64 // end of the last request, if that is what came last
	waiting bool
	device  bool // has talked on this carrier
	master  bool
}

// A moment is when a character was, and what was wrong with it.
type moment struct {
	at, bit float64
	mark    frame.Mark
}

func (t moment) end() float64 { return t.at + characterBits*t.bit }

// Messages are what was said.
type Messages struct {
	Whole, Damaged int
	CutOff         int    // by the end of the waveform
	Noise          int64  // characters that are in no message
	Stray          int64  // of those, single ones, as where one carrier follows another
	Preambles      Spread // of whole messages whose beginning is heard
	LongestGap     float64
	Gaps           int // between characters of a message, longer than a character
	Response       Spread
	Late           int // replies behind the slave time-out

	Parity, Framing int64 // wrong parity and stop bits, but for stray characters
}

// mostGap is the longest time from the end of a character to the next one of its message,
// in bits.
const mostGap = characterBits

// mostStray is how many characters make no message.
const mostStray = 2

// handover is how long a carrier must be on behind the last character of another one until
// its first character is sure to be heard, in bits.
const handover = 2 * characterBits

// slaveTimeOut is in characters.
const slaveTimeOut = 28

func (m *messages) add(h *fsk.Heard) {
	now := moment{h.At, h.Bit, h.Mark}
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
		if n := ev.End - m.first; n > 0 {
			m.before = m.times[n-1].end()
		}
		m.times = m.times[:copy(m.times, m.times[ev.End-m.first:])]
		m.first = ev.End
	}
}

func (m *messages) event(ev *frame.Event) {
	chars := m.times[:ev.End-m.first]
	if ev.Outcome == frame.Noise {
		m.noise(chars)
		return
	}
	m.wrong(chars)
	for i := 1; i < len(chars); i++ {
		gap := (chars[i].at - chars[i-1].end()) / chars[i].bit
		m.LongestGap = max(m.LongestGap, gap)
		if gap > mostGap {
			m.Gaps++
		}
	}
	if ev.Outcome == frame.Damaged {
		m.damaged(chars)
		return
	}
	m.Whole++
	if first := ev.Start - int64(ev.Preambles) - m.first; m.apart(chars, int(max(first, 0))) {
		m.preambles.add(float64(ev.Preambles), 1)
	}
	m.turn(&ev.Frame, chars)
}

// apart reports whether so much time is in front of a character that nothing of its carrier
// can have been missed.
func (m *messages) apart(chars []moment, i int) bool {
	before := m.before
	if i > 0 {
		before = chars[i-1].end()
	}
	return before == 0 || chars[i].at-before > handover*chars[i].bit
}

// noise counts characters that are in no message. What is wrong with single ones is no
// fault of a sender: where one carrier goes off and another comes on, noise looks like one.
func (m *messages) noise(chars []moment) {
	m.Noise += int64(len(chars))
	if len(chars) <= mostStray {
		m.Stray += int64(len(chars))
		return
	}
	m.wrong(chars)
}

// damaged counts a message that is not whole. One that the waveform ends in may have been.
func (m *messages) damaged(chars []moment) {
	m.waiting = false
	if last := chars[len(chars)-1]; m.until > 0 && m.until-last.end() < 2*characterBits*last.bit {
		m.CutOff++
		return
	}
	m.Damaged++
}

// wrong counts wrong parity and stop bits.
func (m *messages) wrong(chars []moment) {
	for _, c := range chars {
		switch c.mark {
		case frame.Parity:
			m.Parity++
		case frame.Framing:
			m.Framing++
		}
	}
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
