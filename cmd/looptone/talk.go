package main

import (
	"looptone/frame"
	"looptone/sim"
)

// A talk is what somebody says on a simulated line, and until when.
type talk struct {
	seat    *sim.Seat // nil: nobody
	on, off sim.Tick
}

// talks are who talks on a line, as carriers go on. What comes from a host outside has
// none, and comes in pieces.
type talks struct {
	last  talk     // of those that have begun, the one that ends last
	mixed talk     // the last time in which several talked at once
	host  talk     // what came last from outside
	came  sim.Tick // when its first piece had come
}

// messagePause is how much later than the one before a piece from outside is the first of
// another message.
//
// Source: common practice.
const messagePause = 5 * sim.Character

// add takes note of a burst. over is whom it talks over, if it is not the rest of
// something that had begun before.
func (t *talks) add(seat *sim.Seat, b *sim.Burst) (over talk) {
	now := talk{seat, b.At, b.Off()}
	rest := seat == t.host.seat && now.on <= t.host.off+messagePause
	if seat != t.last.seat && now.on < t.last.off {
		t.mix(now)
		if !rest {
			over = t.last
		}
	}
	if seat.Outside() {
		if !rest {
			t.came = now.off
			t.host = now
		}
		t.host.off = now.off
	}
	if now.off >= t.last.off {
		t.last = now
	}
	return over
}

// mix takes note that two talk at once.
func (t *talks) mix(now talk) {
	from := min(t.last.on, now.on)
	if from < t.mixed.off {
		from = min(from, t.mixed.on)
	}
	t.mixed = talk{on: from, off: max(t.last.off, now.off)}
}

// during reports whether something on the line from begin to end was during t.
func (t *talk) during(begin, end sim.Tick) bool { return begin < t.off && t.on < end }

// asker is the master that a burst is a request of, as far as it can be told.
func asker(b *sim.Burst) (primary, ok bool) {
	i := 0
	for i < len(b.Chars) && b.Chars[i] == 0xff {
		i++
	}
	if i+1 >= len(b.Chars) || frame.Delimiter(b.Chars[i]).Kind() != frame.STX {
		return false, false
	}
	return b.Chars[i+1]&0x80 != 0, true
}
