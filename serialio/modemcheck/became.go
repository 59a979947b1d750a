package modemcheck

import "time"

// messages tells what became of each message.
func (c *comparison) messages(n int) {
	c.came = make([]cameMessage, n)
	from := 0
	for m := range c.came {
		to := from + 1
		for to < len(c.sent) && c.sent[to].message == int32(m) {
			to++
		}
		c.came[m] = c.message(from, to)
		if m > 0 {
			c.apart(&c.came[m-1], &c.came[m])
		}
		from = to
	}
}

// A cameMessage is what came of the characters from from to to.
type cameMessage struct {
	from, to    int
	first, last int // that came, as characters sent; -1: none, the message is lost
	atFirst     time.Duration
	atLast      time.Duration // their delays, the least from there on
}

func (c *comparison) message(from, to int) cameMessage {
	m := cameMessage{from: from, to: to, first: -1, last: -1}
	came, wrong := 0, 0
	for i := from; i < to; i++ {
		j := c.partners[i]
		if j < 0 {
			continue
		}
		if came++; m.first < 0 {
			m.first = i
		}
		m.last = i
		if c.sent[i].value != c.heard[j].value {
			wrong++
		}
	}
	if 2*came < to-from {
		c.lose(&m, came-wrong)
		return m
	}
	c.Wrong += wrong
	c.Lost += to - from - came - c.swallow(&m)
	if c.whole(&m) {
		c.Messages.Whole++
	} else {
		c.Messages.Damaged++
	}
	c.late(&m)
	return m
}

// lose counts a message as lost. Where hardly anything of it came, that was not of it.
func (c *comparison) lose(m *cameMessage, right int) {
	for i := m.from; i < m.to; i++ {
		if j := c.partners[i]; j >= 0 && (right < solid || c.sent[i].value != c.heard[j].value) {
			c.partners[i] = -1
		}
		if c.partners[i] < 0 {
			c.Lost++
		}
	}
	c.Messages.Lost++
	m.first = -1
}

// swallow counts the preambles that are missing before the first character that came.
func (c *comparison) swallow(m *cameMessage) (n int) {
	sent := 0
	for i := m.from; i < m.to && c.sent[i].preamble; i++ {
		sent++
		if i < m.first {
			n++
		}
	}
	s := &c.Swallowed
	if n > 0 {
		s.Messages++
		s.Preambles += n
		s.Most = max(s.Most, n)
	}
	return n
}

// leastPreambles are what a receiver must have before a delimiter.
//
// Source: FieldComm Group support article 8000040648.
const leastPreambles = 2

// whole reports whether a receiver would have understood a message: the two preambles
// before the delimiter and all behind them came as they were sent, with nothing between.
func (c *comparison) whole(m *cameMessage) bool {
	start := m.from
	for start < m.to && c.sent[start].preamble {
		start++
	}
	start -= leastPreambles
	for i := max(start, m.from); i < m.to; i++ {
		j := c.partners[i]
		if j < 0 || c.sent[i].value != c.heard[j].value || c.heard[j].parity || c.heard[j].framing {
			return false
		}
		if i > max(start, m.from) && j != c.partners[i-1]+1 {
			return false
		}
	}
	return start >= m.from
}

// late reckons how late a message came, and the gaps within it. A character may be told
// late and the next one in time: so the delay of a character is the least of it and all
// behind it, and a gap is what all behind it have in addition.
func (c *comparison) late(m *cameMessage) {
	least := make([]time.Duration, m.last-m.first+1)
	alone, came := 0, 0
	var delay time.Duration = 1 << 62
	for i := m.last; i >= m.first; i-- {
		if j := c.partners[i]; j >= 0 {
			delay = min(delay, c.heard[j].at-c.sent[i].at)
			if came++; c.heard[j].alone {
				alone++
			}
		}
		least[i-m.first] = delay
	}
	m.atFirst, m.atLast = least[0], least[len(least)-1]
	c.delay(least[0])
	if 2*alone >= came {
		c.Gaps.Seen++
		c.gaps(m, least)
	}
}

func (c *comparison) delay(d time.Duration) {
	if c.Delay.Messages == 0 || d < c.Delay.Least {
		c.Delay.Least = d
	}
	if c.Delay.Messages == 0 || d > c.Delay.Most {
		c.Delay.Most = d
	}
	c.Delay.Messages++
	if d > c.Timing.mostDelay() {
		c.Delay.Late++
	}
}

// gaps counts the steps of the delay. At the end of a message few characters follow that
// could show that one was only told late.
func (c *comparison) gaps(m *cameMessage, least []time.Duration) {
	char := c.Timing.character()
	tail := 2*int(c.Timing.Lateness/char) + 1
	for k := 1; k < len(least); k++ {
		gap := least[k] - least[k-1]
		limit := char
		if k >= len(least)-tail {
			limit += c.Timing.Lateness
		}
		c.Gaps.Longest = max(c.Gaps.Longest, gap)
		if gap > limit {
			c.Gaps.Count++
		}
	}
}

// apart tells whether two messages that were sent apart came so.
func (c *comparison) apart(a, b *cameMessage) {
	if a.first < 0 || b.first < 0 {
		return
	}
	char := c.Timing.character()
	pause := c.sent[b.from].at - c.sent[a.to-1].at - char
	if pause < leastPause*char/2 {
		return
	}
	c.Messages.Apart++
	if pause-(a.atLast-b.atFirst) <= char {
		c.Messages.Joined++
	}
}
