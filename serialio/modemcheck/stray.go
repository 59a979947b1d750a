package modemcheck

import "time"

// strayReach is how close to a message a character is that the carrier has made.
//
// Source: common practice
const strayReach = 5 // characters

// strays finds the place of each character that has no partner.
func (c *comparison) strays() {
	next := 0 // first character sent whose partner is not before
	for j, h := range c.heard {
		i := next
		for i < len(c.partners) && c.partners[i] < int32(j) {
			i++ // lost ones have -1: they lie between
		}
		if i < len(c.partners) && c.partners[i] == int32(j) {
			next = i + 1
			continue
		}
		c.stray(h, next, i)
	}
}

// stray counts a character that was heard between two that were sent: from is behind the
// last one before it that came, to the next one that came.
func (c *comparison) stray(h heardChar, from, to int) {
	off, on := c.close(h, c.endBefore(from, to), 1), c.close(h, c.startBehind(from, to), -1)
	switch {
	case c.within(from, to):
		c.Stray.Inside++
	case off && on:
		c.Stray.Between++
	case off:
		c.Stray.Off++
	case on:
		c.Stray.On++
	default:
		c.Stray.Silence++
	}
}

// within reports whether a place lies inside a message of which something came on both
// sides.
func (c *comparison) within(from, to int) bool {
	return from > 0 && to < len(c.sent) && c.sent[from-1].message == c.sent[to].message
}

// endBefore is the last character of the message that the place lies behind.
func (c *comparison) endBefore(from, to int) int {
	for from > 0 && from < to && c.sent[from].message == c.sent[from-1].message {
		from++
	}
	return from - 1
}

// startBehind is the first character of the message that the place lies before.
func (c *comparison) startBehind(from, to int) int {
	if to < len(c.sent) {
		for to > from && c.sent[to-1].message == c.sent[to].message {
			to--
		}
	}
	return to
}

// close reports whether h came close behind (1) or before (-1) where a character would
// have, with the delay of those that came around it.
func (c *comparison) close(h heardChar, i, side int) bool {
	if i < 0 || i >= len(c.sent) {
		return false
	}
	reach := strayReach*c.Timing.character() + c.Timing.Lateness
	off := time.Duration(side) * (h.at - c.sent[i].at - c.delayNear(i, -side))
	return off >= -c.Timing.Lateness-c.Timing.character() && off <= reach
}

// delayNear is the delay of the first character from i on, in one direction, that came.
func (c *comparison) delayNear(i, step int) time.Duration {
	for k := i; k >= 0 && k < len(c.sent) && c.sent[k].message == c.sent[i].message; k += step {
		if j := c.partners[k]; j >= 0 {
			return c.heard[j].at - c.sent[k].at
		}
	}
	return 0
}
