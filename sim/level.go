package sim

import "slices"

// What a receiver hears, in volts peak to peak: every one hears tones from AlwaysHeard
// on, and none up to NeverHeard; in between it is left to chance.
//
// Source: Texas Instruments application note SLAAER4 (Mar 2025), 3.4.8 table
// 3-8 (carrier detect at 120 mV peak to peak, none at 80 mV).
const (
	NeverHeard  = 0.08
	AlwaysHeard = 0.12
)

// Levels tells how much of what a talker sends reaches a listener, as a share of the
// level of its bursts; nil, which a new line has, is all of it. It is asked when a
// carrier goes on, or somebody comes who may hear it, and must not allocate. With
// listener nil it tells how strong talkers are where two carriers at once are told
// apart: where hosts are. A talker is not asked for what it hears of itself.
//
// Whom a carrier does not reach notices neither it nor what it carries, and may talk
// over it; what reaches nobody spoils nothing. Of several carriers at once all whom one
// of them reaches hear the same, as long as that one is on, and what had begun before it
// they miss: so a carrier that is too weak for a listener can still spoil for it what is
// strong there and weak where hosts are.
func (l *Line) Levels(share func(talker, listener *Seat) float32) { l.share = share }

// reaches reports whether tones of a level that begin at a moment reach a listener.
func (l *Line) reaches(talker, listener *Seat, level float32, at Tick) bool {
	seed := l.seed
	if l.share != nil {
		level *= l.share(talker, listener)
		seed ^= listener.number * 0xd1342543de82ef95 // each by a chance of its own
	}
	share := (level - NeverHeard) / (AlwaysHeard - NeverHeard)
	return share >= 1 || share > 0 && chance(seed, at) < float64(share)
}

// reachesAnyone reports whether they reach somebody on the wires.
func (l *Line) reachesAnyone(talker *Seat, level float32, at Tick) bool {
	if l.share == nil {
		return l.reaches(talker, nil, level, at)
	}
	return slices.ContainsFunc(l.seats, func(s *Seat) bool { return s != talker && !s.cut && l.reaches(talker, s, level, at) })
}

// levelInAir is how strong a burst is beside others.
func (l *Line) levelInAir(talker *Seat, b *Burst) float32 {
	if l.share == nil {
		return b.level()
	}
	return b.level() * l.share(talker, nil)
}

// reach has those notice a carrier whom it reaches. With off [Never] it is that of a
// port, which goes off when the line is cut.
func (l *Line) reach(talker *Seat, level float32, at, off Tick) {
	for _, s := range l.seats {
		s.reached = s != talker && l.reaches(talker, s, level, at)
		if !s.reached && s != talker {
			continue
		}
		if !s.notices(l.now) {
			s.since = at
		}
		switch {
		case off == Never:
		case s == talker:
			s.own = off
		default:
			s.loud = max(s.loud, off)
		}
	}
}

// reachLate has a seat notice what is on the line when it comes.
func (l *Line) reachLate(s *Seat) {
	for _, t := range l.air.talks {
		if !l.reaches(t.seat, s, t.burst.level(), t.burst.At) {
			continue
		}
		if !s.notices(t.burst.At) {
			s.since = t.burst.At
		}
		s.loud = max(s.loud, t.burst.Off())
	}
	if l.air.port != nil {
		s.since, s.reached = l.air.since, l.reaches(l.air.port, s, NominalLevel, l.air.since)
	}
}

// hush has every carrier go off that is on.
func (l *Line) hush() {
	for _, s := range l.seats {
		s.loud, s.own = min(s.loud, l.now), min(s.own, l.now)
	}
}

// isLost reports whether characters of a port reach nobody: those of a message share
// the lot of its first ones.
func (l *Line) isLost(port *Seat, at Tick) bool {
	if l.air.port == port || l.now >= port.lost && l.reachesAnyone(port, NominalLevel, at) {
		return false
	}
	port.lost = l.now + portSilence
	return true
}

// meets reports whether a carrier of another one is on that reaches a seat.
func (l *Line) meets(s *Seat) bool {
	return l.now < s.loud || l.air.port != nil && s.reached
}

// catches reports whether a seat hears what began at a moment.
func (l *Line) catches(s *Seat, begin Tick) bool {
	switch {
	case !s.hears(begin):
		return false
	case l.air.port != nil:
		return s.reached || s == l.air.port
	}
	return s.since <= begin && s.notices(begin)
}

// expected is what a port will hear from now on, and until when.
func (l *Line) expected(s *Seat) (chars []Char, off Tick) {
	chars, off = l.air.expected(), max(s.loud, s.own)
	for len(chars) > 0 && chars[len(chars)-1].Start >= off {
		chars = chars[:len(chars)-1]
	}
	return chars, off
}
