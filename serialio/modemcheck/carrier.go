package modemcheck

import (
	"slices"
	"time"

	"looptone/frame"
)

// carrier reckons how long carriers were there before and behind messages. One that stays
// from one message to the next has no end there, and one whose message did not come is
// nobody's.
func (c *comparison) carrier(heard []frame.Arrival, origin time.Time) {
	ons, offs := edges(heard, 1, origin), edges(heard, -1, origin)
	from := time.Duration(-1 << 62) // the end of the message before
	for i := range c.came {
		m := &c.came[i]
		if m.first < 0 {
			continue
		}
		// Of preambles that did not come the carrier was there all the same.
		start := c.heard[c.partners[m.first]].at - time.Duration(1+m.first-m.from)*c.Timing.character()
		end := c.heard[c.partners[m.last]].at + time.Duration(m.to-1-m.last)*c.Timing.character()
		if k, _ := slices.BinarySearch(ons, start+c.Timing.character()); k > 0 && ons[k-1] >= from {
			c.Carrier.On.add(start-ons[k-1], c.Timing.mostCarrierOn())
		}
		next := c.startOfNext(i)
		if k, _ := slices.BinarySearch(offs, end-c.Timing.Lateness); k < len(offs) && offs[k] < next {
			c.Carrier.Off.add(offs[k]-end, c.Timing.mostCarrierOff())
		}
		from = end
	}
}

// startOfNext is when the first character of the next message that came was heard.
func (c *comparison) startOfNext(i int) time.Duration {
	for _, m := range c.came[i+1:] {
		if m.first >= 0 {
			return c.heard[c.partners[m.first]].at
		}
	}
	return 1 << 62
}

func (e *CarrierEdge) add(d, most time.Duration) {
	e.Messages++
	e.Longest = max(e.Longest, d)
	if d > most {
		e.Late++
	}
}

func edges(heard []frame.Arrival, way int8, origin time.Time) (at []time.Duration) {
	for i := range heard {
		if heard[i].Carrier == way {
			at = append(at, heard[i].At.Sub(origin))
		}
	}
	return at
}
