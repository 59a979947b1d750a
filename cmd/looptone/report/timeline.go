package report

import (
	"time"

	"looptone/frame/exchange"
)

// A timeline puts the parts of a conversation behind each other, in seconds. Where a part
// tells the wall clock, as the one before did, it stands where it belongs by that; one
// that begins anew stands a second behind what came before; and what has no times is laid
// end to end as a line would carry it.
type timeline struct {
	base    float64 // of the part, added to its own times
	last    float64 // end of the last message
	begun   bool
	parting bool      // nobody listened right before what comes now
	origin  time.Time // wall clock of time 0; zero where it is not known
	untimed int64     // messages without a time
	parts   int
}

// betweenMessages is what lies between messages without times, in characters.
const betweenMessages = 5

const characterSeconds = 11.0 / 1200

// A moment is when a message was on the line.
type moment struct{ begin, start, end float64 }

func (t *timeline) place(m *exchange.Message) moment {
	chars := float64(m.Preambles) + float64(m.End-m.Start)
	if m.Unanswered > 0 {
		chars = 0
	}
	if !m.Span.Known {
		t.untimed++
		begin := t.last + betweenMessages*characterSeconds
		at := moment{begin, begin + float64(m.Preambles)*characterSeconds, begin + chars*characterSeconds}
		t.passed(at)
		return at
	}
	begin := m.Span.Begin.Seconds()
	if t.parting || !t.begun {
		t.part(begin, m.Span.Origin)
	}
	at := moment{t.base + begin, t.base + m.Span.Start.Seconds(), t.base + m.Span.End.Seconds()}
	t.passed(at)
	return at
}

func (t *timeline) passed(at moment) {
	t.begun, t.parting = true, false
	t.last = max(t.last, at.end)
}

// part lets another part begin, if its times do not go on.
func (t *timeline) part(begin float64, origin time.Time) {
	if !t.begun {
		t.origin = origin
	}
	shift := origin.Sub(t.origin).Seconds()
	switch known := !origin.IsZero() && !t.origin.IsZero(); {
	case !t.begun:
	case known && shift+begin >= t.last:
		t.base = shift
	case t.base+begin < t.last:
		t.base = t.last + 1 - begin
	}
	t.parts++
}
