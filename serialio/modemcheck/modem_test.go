package modemcheck

import (
	"math/rand/v2"
	"time"

	"looptone/frame"
)

// A badModem is what a modem does to the messages that go through it, and counts what it
// has done. The zero badModem does nothing.
type badModem struct {
	swallow   int           // preambles of every message
	strayOn   []byte        // a character before the messages
	strayOff  []byte        // and behind them
	late      time.Duration // of every character
	garble    int           // one in so many characters
	lose      int           // one in so many messages loses a character
	gap       int           // one in so many messages has a silence of two characters
	join      int           // one in so many messages waits for the one behind it
	parity    int           // one in so many characters has a wrong parity bit
	loseWhole int           // one in so many messages does not come

	rand *rand.Rand
	did  done

	slipped time.Duration // within the last message
}

// done is what a modem has done, as the report should tell it.
type done struct {
	Swallowed, SwallowedMessages, Most int
	Stray                              int
	Garbled, Lost, Gaps, Joined        int
	Parity, LostMessages, Late         int
}

const char = frame.Character

// A due character leaves the modem at a moment.
type due struct {
	at     time.Duration // when it ends, from the start of its message
	value  byte
	parity bool
}

func (m *badModem) chance(oneIn int) bool { return oneIn > 0 && m.rand.IntN(oneIn) == 0 }

// pass is what comes out of a message.
func (m *badModem) pass(chars []byte, late time.Duration) (out []due) {
	if m.chance(m.loseWhole) {
		m.did.LostMessages++
		m.did.Lost += len(chars)
		return nil
	}
	preambles := leading(chars)
	swallow := min(m.swallow, preambles)
	if swallow > 0 {
		m.did.Swallowed += swallow
		m.did.SwallowedMessages++
		m.did.Most = max(m.did.Most, swallow)
	}
	m.slipped = 0
	lose, gap := -1, -1
	if m.chance(m.gap) {
		// Not in the last four: a check byte FF behind it might as well be a preamble.
		gap = preambles + 1 + m.rand.IntN(len(chars)-preambles-1-solid)
		m.did.Gaps++
	}
	if at := preambles + 1 + m.rand.IntN(len(chars)-preambles-2); m.chance(m.lose) && far(at, gap) {
		lose = at
		m.did.Lost++
	}
	if len(m.strayOn) > 0 {
		m.did.Stray++
		out = append(out, due{at: late, value: m.strayOn[m.rand.IntN(len(m.strayOn))]})
	}
	for i, c := range chars {
		if i == gap {
			late += 2 * char
			m.slipped = 2 * char
		}
		at := late + time.Duration(i+1)*char
		if i < swallow || i == lose {
			continue
		}
		d := due{at: at, value: c}
		if m.chance(m.garble) && far(i, gap) && far(i, lose) {
			d.value ^= byte(1 + m.rand.IntN(255))
			m.did.Garbled++
		} else if m.chance(m.parity) {
			d.parity = true
			m.did.Parity++
		}
		out = append(out, d)
	}
	if len(m.strayOff) > 0 {
		m.did.Stray++
		out = append(out, due{at: late + time.Duration(len(chars)+1)*char, value: m.strayOff[m.rand.IntN(len(m.strayOff))]})
	}
	return out
}

// far reports whether what is done at one place can be told from what is done at another:
// closer together, one lost and one garbled, or one lost and a silence, may look alike.
func far(a, b int) bool { return b < 0 || a < b-8 || a > b+8 }

// arrival is a character as a port hands it on.
func (d *due) arrival(start time.Time) frame.Arrival {
	a := frame.Arrival{At: start.Add(d.at), Chars: []byte{d.value}}
	if d.parity {
		a.Marks = []frame.MarkAt{{Pos: 0, Mark: frame.Parity}}
	}
	return a
}

// through sends a plan through the modem, without an end and a clock. What comes out of it
// comes one behind the other: where there is more than was sent, the rest is later.
func (m *badModem) through(plan []Message) (sent []Sent, heard []frame.Arrival) {
	at := time.Date(2031, 3, 1, 3, 10, 7, 0, time.UTC)
	joined, last, behind := false, at, at
	for i := range plan {
		at = at.Add(time.Duration(plan[i].Pause) * char)
		s := Sent{At: at, Chars: plan[i].Chars()}
		sent = append(sent, s)
		late := m.late
		if joined = !joined && i+1 < len(plan) && plan[i+1].Pause > 0 && m.chance(m.join); joined {
			late += time.Duration(plan[i+1].Pause) * char
		}
		begin := s.At.Add(late)
		if len(m.strayOn) > 0 {
			begin = begin.Add(-char)
		}
		late += max(last.Sub(begin), 0)
		out := m.pass(s.Chars, late)
		for _, d := range out {
			heard = append(heard, d.arrival(s.At))
			last = s.At.Add(d.at)
		}
		if len(out) > 0 && late > char {
			m.did.Late++
		}
		if len(out) > 0 && i > 0 && plan[i].Pause > 0 && s.At.Add(late).Sub(behind) <= char {
			m.did.Joined++
		}
		behind = s.At.Add(late + m.slipped + time.Duration(len(s.Chars))*char)
		if len(out) == 0 {
			behind = time.Time{}
		}
		at = at.Add(time.Duration(len(s.Chars)) * char)
	}
	return sent, heard
}

// told is what a way tells of what the modem has done.
func told(w *Way) done {
	return done{
		Swallowed: w.Swallowed.Preambles, SwallowedMessages: w.Swallowed.Messages, Most: w.Swallowed.Most,
		Stray:   w.Stray.All(),
		Garbled: w.Wrong, Lost: w.Lost, Gaps: w.Gaps.Count, Joined: w.Messages.Joined,
		Parity: w.Parity, LostMessages: w.Messages.Lost,
		Late: w.Delay.Late,
	}
}
