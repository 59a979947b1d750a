package findings

import (
	"fmt"

	"looptone/frame"
	"looptone/frame/exchange"
)

// host is what was found of one master.
type host struct {
	primary  bool
	requests int64 // whole ones, and those of which the master bit could be read
	tallies  [ruleCount]tally
	last     where    // of its last request
	again    int      // how often that was asked before, one time behind the other
	talkers  []string // names of those that asked, the last of them last
}

// where is the place of a message.
type where struct {
	exchange.When
	start int64
}

func whereOf(m *exchange.Message) where {
	return where{exchange.When{Number: m.Number, Stream: m.Stream, Span: m.Span}, m.Start}
}

func (h *host) keep(r Rule) { h.tallies[r].kept++ }

func (h *host) breach(r Rule, at where, format string, args ...any) {
	h.tallies[r].broken.add(at, format, args)
}

func (h *host) doubt(r Rule, at where, format string, args ...any) {
	h.tallies[r].doubted.add(at, format, args)
}

// hide counts a case that cannot be seen.
func (h *host) hide(r Rule, reason string) {
	t := &h.tallies[r]
	if t.hidden == 0 {
		t.reason = reason
	}
	t.hidden++
}

func (c *cases) add(at where, format string, args []any) {
	if e := c.next(); e != nil {
		*e = Example{at.When, at.start, fmt.Sprintf(format, args...)}
	}
}

// usualRetries is how often a host asks again before it gives up.
//
// Source: common practice.
const usualRetries = 3

// ask follows how often the same is asked.
func (h *host) ask(m *exchange.Message) {
	if m.RetryOf == 0 {
		h.endRetries()
	} else {
		h.again++
	}
	h.last = whereOf(m)
}

// endRetries judges the requests that asked the same.
func (h *host) endRetries() {
	switch {
	case h.again > usualRetries:
		h.breach(Retries, h.last, "asks again for the %s time in a row, %d are usual", ordinal(h.again), usualRetries)
	case h.again > 0:
		h.keep(Retries)
	}
	h.again = 0
}

// ordinal is for instance 4th.
func ordinal(n int) string {
	ending := "th"
	if n/10%10 != 1 {
		switch n % 10 {
		case 1:
			ending = "st"
		case 2:
			ending = "nd"
		case 3:
			ending = "rd"
		}
	}
	return fmt.Sprint(n, ending)
}

// quiet is how many characters of silence the host waits for without a turn.
//
// Source: FieldComm Group support article 8000040648.
func (h *host) quiet() int64 {
	if h.primary {
		return 33
	}
	return 41
}

// name is the name of an address, or of the device behind it.
func name(m *exchange.Message) string {
	if m.Device != nil {
		return m.Device.String()
	}
	if n, ok := m.Frame.Address.IsPolling(); ok {
		return fmt.Sprint("polling address ", n)
	}
	if m.Frame.Address == frame.Broadcast {
		return "all devices"
	}
	return m.Frame.Address.String()
}
