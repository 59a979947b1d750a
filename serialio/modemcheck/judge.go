package modemcheck

import (
	"fmt"
	"time"
)

// Judge holds a way against every limit that is one of ways, in the order of [Limits].
func (w *Way) Judge() []Verdict {
	all := []Verdict{
		w.judgeMessages(), w.judgeLost(), w.judgeWrong(), w.judgeStray(), w.judgeParity(),
		w.judgeSwallowed(), w.judgeLeft(), w.judgeDelay(), w.judgeGaps(), w.judgePauses(),
		w.judgeCarrierOn(), w.judgeCarrierOff(),
	}
	for i := range all {
		all[i].From, all[i].To = w.From, w.To
	}
	return all
}

// unseen is a limit of which there is nothing to tell, and why.
func unseen(name, why string) Verdict { return Verdict{Limit: limit(name), Says: why} }

// Why nothing is to tell.
const (
	nothingSent  = "nothing was sent this way"
	nothingHeard = "nothing was heard"
	noneCame     = "no message came"
)

func number(name string, got, most float64, unit, says string) Verdict {
	return Verdict{Limit: limit(name), Finding: broken(got > most), Got: got, Bound: most, Unit: unit, Says: says}
}

func count(name string, got int, unit, says string) Verdict {
	return number(name, float64(got), 0, unit, says)
}

func (w *Way) judgeMessages() Verdict {
	m := &w.Messages
	if m.Sent == 0 {
		return unseen("messages", nothingSent)
	}
	return count("messages", m.Lost+m.Damaged, "messages lost or damaged",
		fmt.Sprintf("%d of %d messages came as they were sent, %d damaged, %d not at all", m.Whole, m.Sent, m.Damaged, m.Lost))
}

func (w *Way) judgeLost() Verdict {
	if w.Sent == 0 {
		return unseen("characters lost", nothingSent)
	}
	return count("characters lost", w.Lost, "characters",
		fmt.Sprintf("%d of %d characters did not come", w.Lost, w.Sent))
}

func (w *Way) judgeWrong() Verdict {
	if w.Heard == 0 {
		return unseen("characters wrong", nothingHeard)
	}
	return count("characters wrong", w.Wrong, "characters",
		fmt.Sprintf("%d of %d characters came as another one", w.Wrong, w.Sent))
}

func (w *Way) judgeStray() Verdict {
	if w.Heard == 0 {
		return unseen("stray characters", nothingHeard)
	}
	s := &w.Stray
	says := "no character was heard that was not sent"
	if s.All() > 0 {
		says = fmt.Sprintf("characters that were not sent: %d; %d right before a message, %d right behind one, %d between two, %d within one, %d in silence",
			s.All(), s.On, s.Off, s.Between, s.Inside, s.Silence)
	}
	return count("stray characters", s.All(), "characters", says)
}

func (w *Way) judgeParity() Verdict {
	switch {
	case !w.Timing.Marks:
		return unseen("parity and framing", "the port does not show them")
	case w.Heard == 0:
		return unseen("parity and framing", nothingHeard)
	}
	return count("parity and framing", w.Parity+w.Framing, "errors",
		fmt.Sprintf("wrong parity bits: %d, wrong stop bits: %d", w.Parity, w.Framing))
}

func (w *Way) judgeSwallowed() Verdict {
	if w.Delay.Messages == 0 {
		return unseen("preambles swallowed", noneCame)
	}
	s := &w.Swallowed
	says := "every message came with all its preambles"
	if s.Most > 0 {
		says = fmt.Sprintf("%d of %d messages lack preambles, %d in all, at most %d of one", s.Messages, w.Delay.Messages, s.Preambles, s.Most)
	}
	return number("preambles swallowed", float64(s.Most), mostSwallowed, "preambles", says)
}

// judgeLeft reckons with as few preambles as may be sent, whether or not one was.
func (w *Way) judgeLeft() Verdict {
	if w.Delay.Messages == 0 {
		return unseen("preambles left", noneCame)
	}
	left := max(FewestPreambles-w.Swallowed.Most, 0)
	v := Verdict{Limit: limit("preambles left"), Finding: broken(left < leastPreambles), Got: float64(left), Bound: leastPreambles, Unit: "preambles"}
	v.Says = fmt.Sprintf("%d of %d preambles are left where the most are swallowed", left, FewestPreambles)
	return v
}

func (w *Way) judgeDelay() Verdict {
	d := &w.Delay
	if d.Messages == 0 {
		return unseen("turn-around", noneCame)
	}
	says := fmt.Sprintf("messages are heard %s to %s later than sent", milliseconds(d.Least), milliseconds(d.Most))
	if d.Late > 0 {
		says += fmt.Sprintf("; %d of %d too late", d.Late, d.Messages)
	}
	return w.duration("turn-around", d.Most, w.Timing.mostDelay(), says)
}

func (w *Way) judgeGaps() Verdict {
	g := &w.Gaps
	switch {
	case w.Delay.Messages == 0:
		return unseen("gaps", noneCame)
	case g.Seen == 0:
		return unseen("gaps", "characters come in together, so the time of each is not known")
	}
	v := w.duration("gaps", g.Longest, w.Timing.character(), "no silence within a message")
	v.Finding = broken(g.Count > 0)
	switch {
	case g.Count > 0:
		v.Says = fmt.Sprintf("silences of more than a character within messages: %d, the longest %s", g.Count, milliseconds(g.Longest))
	case g.Longest > w.Timing.character():
		v.Says = fmt.Sprintf("no silence but at the end of a message, where the port may have told %s late", milliseconds(g.Longest))
	}
	return v
}

func (w *Way) judgePauses() Verdict {
	m := &w.Messages
	if m.Apart == 0 {
		return unseen("pauses", "no two messages came that were sent apart")
	}
	return count("pauses", m.Joined, "joined messages",
		fmt.Sprintf("%d of %d messages that were sent apart from the one before came joined to it", m.Joined, m.Apart))
}

func (w *Way) judgeCarrierOn() Verdict {
	return w.edge("carrier on", &w.Carrier.On, w.Timing.mostCarrierOn(), "before the first start bit")
}

func (w *Way) judgeCarrierOff() Verdict {
	return w.edge("carrier off", &w.Carrier.Off, w.Timing.mostCarrierOff(), "behind the last stop bit")
}

func (w *Way) edge(name string, e *CarrierEdge, most time.Duration, where string) Verdict {
	if e.Messages == 0 {
		return unseen(name, "the port does not tell of a carrier; --carrier names the line that does")
	}
	says := fmt.Sprintf("at most %s %s, of %d messages", milliseconds(e.Longest), where, e.Messages)
	if e.Late > 0 {
		says += fmt.Sprintf("; %d too long", e.Late)
	}
	return w.duration(name, e.Longest, most, says)
}

func (w *Way) duration(name string, got, most time.Duration, says string) Verdict {
	v := number(name, ms(got), ms(most), "ms", says)
	v.Finding = broken(got > most) // not rounded
	return v
}

func ms(d time.Duration) float64 { return float64(d.Round(10*time.Microsecond)) / 1e6 }

func milliseconds(d time.Duration) string { return fmt.Sprintf("%.1f ms", ms(d)) }
