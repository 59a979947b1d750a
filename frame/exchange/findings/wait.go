package findings

import (
	"strconv"
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
)

// A wait is a time that lies between two: how long a host waited, as far as that
// is known.
type wait struct {
	least, most time.Duration
	why         string // it is not known better
}

// below and above report whether a wait surely was shorter, or no shorter, than
// some characters. Both can be false.
func (w wait) below(characters int64) bool { return w.most < frame.Characters(characters) }
func (w wait) above(characters int64) bool { return w.least >= frame.Characters(characters) }

// carrierLead is how long a carrier may be on before the first start bit, which is
// what is seen.
//
// Source: Allen-Bradley 1797-6.5.3, p.C-2.
const carrierLead = 5 * time.Second / 1200

// within and beyond report whether a turn surely was used, or not used, within some
// characters.
func (w wait) within(characters int64) bool {
	return w.most <= frame.Characters(characters)+carrierLead
}
func (w wait) beyond(characters int64) bool {
	return w.least > frame.Characters(characters)+carrierLead
}

// since is how long behind a moment, which may lie late behind what it is of, a
// request began.
func (s *Sight) since(at, late time.Duration, m *exchange.Message) wait {
	begin := &m.Span
	lost, latest := s.lost(m), begin.Begin
	w := wait{least: begin.Begin - s.late(begin) - lost - s.Rounded - at}
	switch {
	case s.AtOnce:
		latest, w.why = s.latest(begin), " (its characters came at once)"
	case lost > 0:
		w.why = " (preambles may be lost)"
	}
	w.most = latest + late + s.Rounded - at
	return w
}

// latest is when a message that may have been handed over at once began at the latest.
func (s *Sight) latest(message *exchange.Span) time.Duration {
	if message.Begin < s.Came && s.Came < message.End {
		return s.Came
	}
	return message.End
}

// mostLost is how many preambles may be lost on the way: of the 5 that are sent at
// least, 2 must be heard.
//
// Source: Texas Instruments SLAAEH0, section 1.5.3; FieldComm Group support article
// 8000040648.
const mostLost = fewestPreambles - 2

// lost is how long before it was heard a request may have begun.
func (s *Sight) lost(m *exchange.Message) time.Duration {
	if s.Direct {
		return 0
	}
	return frame.Characters(int64(max(0, min(mostLost, mostPreambles-m.Preambles))))
}

// late is by how much a time may lie behind what it is of.
func (s *Sight) late(at *exchange.Span) time.Duration { return max(s.Late, at.Late) }

// short and long are a wait that was too short or too long: where it is not known,
// the time on the side of the host.
func (w wait) short() string {
	if w.certain() {
		return w.middle()
	}
	return "at most " + milliseconds(max(w.most, 0))
}

func (w wait) long() string {
	if w.certain() {
		return w.middle()
	}
	return "at least " + milliseconds(max(w.least, 0))
}

// early is how long before a moment a request began, at the least.
func (w wait) early() string { return wait{least: -w.most, most: -w.least}.long() }

// certain reports whether a wait is known as well as times are written down.
func (w wait) certain() bool { return w.most-w.least <= 2*time.Microsecond }

func (w wait) middle() string { return milliseconds(w.least + (w.most-w.least)/2) }

// doubtful is what a wait may be, and why that is not known better.
func (w wait) doubtful() string {
	return milliseconds(max(w.least, 0)) + " to " + milliseconds(max(w.most, 0)) + w.why
}

func milliseconds(d time.Duration) string {
	return strconv.FormatFloat(float64(d.Round(time.Microsecond))/float64(time.Millisecond), 'f', -1, 64) + " ms"
}

// characters is the time that some take, and how many they are.
func characters(n int64) string {
	text := milliseconds(frame.Characters(n)) + " (" + strconv.FormatInt(n, 10) + " character"
	if n != 1 {
		text += "s"
	}
	return text + ")"
}
