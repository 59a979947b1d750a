package sim

import (
	"slices"

	"looptone/frame"
)

// portSilence is how long the line waits for the rest of a message from a port
// before it takes the silence for its end: five characters, and what a port may
// be late.
//
// Source: common practice (16 ms is usual behind a USB adapter).
const portSilence = 5*Character + 16*Millisecond

// portAhead is how much a port may send ahead of the line: a message that comes
// at once. What comes faster than the line carries is lost.
const portAhead = 300 * Character

// A Line is a pair of wires with stations on it. It moves from event to event;
// nothing happens but in [Line.Run] and [Line.Arrive].
type Line struct {
	seed    uint64
	now     Tick
	seats   []*Seat
	joined  uint64 // seats that ever were
	planned []talk // bursts whose time has not come
	air     air
	decoder frame.Decoder
	event   frame.Event
	medium  Medium
	share   func(talker, listener *Seat) float32
	log     func(talker *Seat, b *Burst)
}

// talk is a burst and who sends it.
type talk struct {
	seat  *Seat
	burst *Burst
	level float32 // once it is on, beside others
}

// NewLine is a quiet line at moment 0 without stations.
func NewLine(seed uint64) *Line { return &Line{seed: seed} }

// Now is the moment up to which the line has run.
func (l *Line) Now() Tick { return l.now }

// Join puts a station on the line; it is stepped at once, with the next Run.
func (l *Line) Join(s Station) *Seat {
	l.joined++
	seat := &Seat{line: l, number: l.joined, station: s, wake: l.now, deaf: l.now, carried: l.now - portAhead}
	seat.port, _ = s.(Listener)
	seat.looker, _ = s.(Looker)
	l.seats = append(l.seats, seat)
	l.reachLate(seat)
	if seat.port != nil && l.now < seat.loud {
		chars, off := l.expected(seat)
		seat.port.Expect(l.now, chars, off)
	}
	return seat
}

// Seats are those of the stations on the line, in the order in which they came. The
// slice stays as it is; the line does not change it.
func (l *Line) Seats() []*Seat { return slices.Clip(l.seats) }

// Leave takes a station off the line. A carrier that it has on goes on to the
// end of its burst.
func (l *Line) Leave(seat *Seat) {
	l.seats = slices.DeleteFunc(slices.Clone(l.seats), func(s *Seat) bool { return s == seat }) // it may be a step that it leaves in
	l.drop(seat)
	seat.wake, seat.heard = Never, nil
}

// drop drops what a seat is to send and has not begun.
func (l *Line) drop(seat *Seat) {
	l.planned = slices.DeleteFunc(l.planned, func(t talk) bool { return t.seat == seat })
}

// Through has everything that is sent go through m, from now on.
func (l *Line) Through(m Medium) { l.medium = m }

// Log has tell told of every burst when its carrier goes on, and of what comes in
// from outside as it comes, as a burst without lead and tail. b is valid during
// the call only.
func (l *Line) Log(tell func(talker *Seat, b *Burst)) { l.log = tell }

// Next is the moment of the next thing that will happen, [Never] if nothing
// will unless something arrives.
func (l *Line) Next() Tick {
	next := l.air.next()
	for _, s := range l.seats {
		next = min(next, s.wake)
		if s.detect > 0 {
			next = min(next, l.detects(s))
		}
		if l.now < s.ends {
			next = min(next, s.ends) // it may notice another one's carrier, even if nobody heard its own
		}
	}
	for _, t := range l.planned {
		next = min(next, t.burst.At)
	}
	return next
}

// Run lets everything happen that happens up to moment to.
func (l *Line) Run(to Tick) {
	for t := l.Next(); t <= to; t = l.Next() {
		l.now = max(l.now, t)
		l.turn()
	}
	l.now = max(l.now, to)
}

// Arrive puts characters on the line that came in from outside at the seat of a
// port. They ended at moment at, up to now. While somebody else talks they are on
// the line from now on, and spoil each other.
func (l *Line) Arrive(seat *Seat, at Tick, chars []byte, marks []frame.MarkAt) {
	chars = chars[:seat.admit(l.now, len(chars))]
	marks = within(marks, len(chars))
	if seat.silent() {
		return
	}
	if l.medium != nil {
		chars, marks = l.medium.Arrive(l.now, seat, chars, marks)
	}
	switch {
	case len(chars) == 0:
		return
	case l.isLost(seat, at):
		l.note(seat, &Burst{At: max(at-Tick(len(chars))*Character, l.air.quiet), Chars: chars, Marks: marks})
		return
	}
	if l.air.fading(l.now) {
		l.cut() // it talks behind the last character, as it may
		l.hush()
	}
	switch {
	case l.air.talking() || l.air.port != nil && l.air.port != seat:
		l.plan(seat, &Burst{At: l.now, Chars: chars, Marks: marks})
		seat.meant = seat.free
	default:
		l.put(seat, at, chars, marks)
	}
	l.turn()
}

// within are the marks of the first n characters.
func within(marks []frame.MarkAt, n int) []frame.MarkAt {
	return slices.DeleteFunc(slices.Clone(marks), func(m frame.MarkAt) bool { return m.Pos >= int64(n) })
}

// turn lets happen what happens now, until nothing more does.
func (l *Line) turn() {
	l.advance()
	for l.step() {
		l.advance()
	}
}

// advance brings what is on the line up to now.
func (l *Line) advance() {
	l.listen()
	if l.air.end(l.now) || l.air.port != nil && l.air.passed() && l.decoder.Settled() {
		l.cut()
	}
	for i := 0; i < len(l.planned); {
		if t := l.planned[i]; t.burst.At <= l.now {
			l.planned = slices.Delete(l.planned, i, i+1)
			l.begin(t)
		} else {
			i++
		}
	}
	l.tellCarriers()
}

// step steps the stations that heard something or want to be woken; more means
// that one of them sends at once. The others hear its carrier before they are
// stepped.
func (l *Line) step() (more bool) {
	for _, s := range l.seats {
		if len(s.heard) == 0 && s.wake > l.now {
			continue
		}
		send, wake := s.station.Step(l.now, s.heard)
		s.heard = s.heard[:0]
		s.wake = max(wake, l.now+1)
		if send != nil && send.Off() > send.At && l.send(s, send) {
			l.advance()
			more = true
		}
		if l.now < s.meant && s.meant < s.free {
			s.wake = min(s.wake, s.meant) // to notice its own carrier
		}
	}
	return more
}

// send plans what a station sends, and reports whether it begins now.
func (l *Line) send(s *Seat, b *Burst) (now bool) {
	if s.silent() {
		return false
	}
	s.meant = b.Off()
	if l.medium != nil {
		if b = l.medium.Send(l.now, s, b); b == nil {
			return false
		}
	}
	return l.plan(s, b) <= l.now
}

// plan has b sent at its moment, or when what the seat sends before is over.
func (l *Line) plan(seat *Seat, b *Burst) (at Tick) {
	b.At = max(b.At, l.now, seat.free)
	seat.free = b.Off()
	l.planned = append(l.planned, talk{seat: seat, burst: b})
	return b.At
}

// begin switches a carrier on.
func (l *Line) begin(t talk) {
	if t.seat.silent() {
		return
	}
	level, off := t.burst.level(), t.burst.Off()
	heard := l.reachesAnyone(t.seat, level, t.burst.At)
	if heard && !l.air.talking() {
		l.cut() // a port fell silent before
	}
	if t.seat.ends = off; !t.seat.echo {
		t.seat.deaf = off
	}
	l.note(t.seat, t.burst)
	if !heard {
		return
	}
	l.reach(t.seat, level, t.burst.At, off)
	t.level = l.levelInAir(t.seat, t.burst)
	l.air.begin(t, l.now, l.seed)
	l.listen()
	for _, s := range l.seats {
		if l.isTold(s) {
			chars, off := l.expected(s)
			s.port.Expect(l.now, chars, off)
		}
	}
}

// isTold reports whether the station is a port that hears what is on the line now.
func (l *Line) isTold(s *Seat) bool {
	return s.port != nil && s.hears(l.now) && (l.meets(s) || s.echo && (l.now < s.own || l.air.port == s))
}

// put places characters of a port that ended at moment at on the quiet line.
func (l *Line) put(seat *Seat, at Tick, chars []byte, marks []frame.MarkAt) {
	if l.air.port == nil {
		l.reach(seat, NominalLevel, at, Never)
	}
	l.air.put(seat, at, chars, marks)
	heard := l.air.chars[len(l.air.chars)-len(chars):]
	l.note(seat, &Burst{At: heard[0].Start, Chars: chars, Marks: marks})
	for _, s := range l.seats {
		if l.isTold(s) {
			s.port.Expect(l.now, heard, at)
		}
	}
}

// note counts what goes on the line, and has it logged.
func (l *Line) note(seat *Seat, b *Burst) {
	seat.sent += int64(len(b.Chars))
	if l.log != nil {
		l.log(seat, b)
	}
}

// listen feeds the decoder with the characters that have ended.
func (l *Line) listen() {
	for {
		chars, marks := l.air.take(l.now, l.decoder.Pos())
		if len(chars) == 0 {
			return
		}
		l.decoder.Feed(chars, marks)
		l.tellEvents()
	}
}

// cut ends a stretch of characters: the line is quiet.
func (l *Line) cut() {
	l.decoder.End()
	l.tellEvents()
	l.air.clear(l.decoder.Pos())
}

// tellEvents tells everybody what was heard, but for what began while his own
// carrier was on.
func (l *Line) tellEvents() {
	for l.decoder.Next(&l.event) {
		h := Heard{At: l.now, Event: l.event}
		h.Begin = l.air.char(l.event.Start - int64(l.event.Preambles)).Start
		h.End = l.air.char(l.event.End - 1).End
		if h.Start = h.End; l.event.Start < l.event.End {
			h.Start = l.air.char(l.event.Start).Start
		}
		for _, s := range l.seats {
			switch {
			case s == l.air.port && !s.echo:
			case l.catches(s, h.Begin):
				s.heard = append(s.heard, h)
			default:
				l.tellRest(s, h)
			}
		}
	}
}

// enoughPreambles is how many a receiver needs in front of a frame.
const enoughPreambles = 2

// tellRest tells a station of a frame of which it has missed no more than
// preambles: somebody has begun behind its last character, and before its own
// carrier was off.
func (l *Line) tellRest(s *Seat, h Heard) {
	for h.Event.Preambles > enoughPreambles && !l.catches(s, h.Begin) {
		h.Event.Preambles--
		h.Begin = l.air.char(h.Event.Start - int64(h.Event.Preambles)).Start
	}
	if h.Event.Outcome != frame.Noise && l.catches(s, h.Begin) {
		s.heard = append(s.heard, h)
	}
}

// tellCarriers tells everybody whose own carrier is off when another one goes on
// or off. One that is on for longer than its station means it to be is another one.
func (l *Line) tellCarriers() {
	for _, s := range l.seats {
		hears := s.looks() && (l.meets(s) && s.hears(l.now) && (s.carrier || s.since+s.detect <= l.now) || s.lasts(l.now))
		switch {
		case hears && !s.carrier:
			s.hearCarrier(l.now, +1)
		case !hears && s.carrier:
			s.hearCarrier(l.now, -1)
		}
		s.carrier = hears
	}
}

// detects is when a station notices the carrier that is on; [Never] for none that
// it does not know of.
func (l *Line) detects(s *Seat) Tick {
	if s.carrier || !l.meets(s) || !s.hears(l.now) || !s.looks() {
		return Never
	}
	return s.since + s.detect
}
