package sim

// A Seat is a station's place on a line.
type Seat struct {
	Name string // of the station, as a log and messages call it

	line    *Line
	number  uint64 // of the line's seats, from 1 on
	station Station
	port    Listener // the station, if it is one
	looker  Looker   // the station, if it is one
	wake    Tick
	free    Tick // until then it has something to send
	ends    Tick // then what it says is over
	meant   Tick // until then it means to be on the line: a medium may keep it there for longer
	deaf    Tick // what began before that it did not hear: its own carrier was on, or it was not there
	carried Tick // until then its characters from outside, one after the other, fill the line
	carrier bool // whether it was told of one
	heard   []Heard

	// What of the carriers on the line reaches it.
	since   Tick // one went on then, or its own, behind a time without
	loud    Tick // until then another one's is on
	own     Tick // until then its own is on
	reached bool // by the carrier that went on last
	lost    Tick // until then nobody is reached by the characters from outside

	muted, cut, echo bool
	detect           Tick  // that a carrier must be on until it is told
	sent             int64 // characters
}

// Outside reports whether the station is a port: who talks there is somewhere
// outside.
func (s *Seat) Outside() bool { return s.port != nil }

// Mute keeps what the station sends from the line, from now on or no longer. A
// burst that has begun goes on.
func (s *Seat) Mute(on bool) { s.muted = on }

// Muted reports whether it is kept so.
func (s *Seat) Muted() bool { return s.muted }

// Cut takes the station off the wires, or puts it back, and wakes it: it is not
// heard, and hears nothing. A burst that has begun goes on; one that has not is dropped.
func (s *Seat) Cut(off bool) {
	if off {
		s.line.drop(s)
		s.free = s.ends
	}
	if s.cut && !off {
		s.deaf = max(s.deaf, s.line.now)
		s.Wake()
	}
	s.cut = off
}

// Wake has the station stepped now: something was done to it that it could not
// hear of.
func (s *Seat) Wake() { s.wake = s.line.now }

// Echo lets the station hear what it sends itself, or no longer.
func (s *Seat) Echo(on bool) { s.echo = on }

// DetectAfter is how long a carrier must be on until the station is told of it.
func (s *Seat) DetectAfter(d Tick) { s.detect = d }

// Sent is how many characters of the station's went on the line.
func (s *Seat) Sent() int64 { return s.sent }

// silent reports whether nothing that the station sends reaches the line.
func (s *Seat) silent() bool { return s.muted || s.cut }

// lasts reports whether the station's carrier is on for longer than it means it to be.
func (s *Seat) lasts(now Tick) bool { return s.meant <= now && now < s.own && !s.cut }

// looks reports whether the station wants to be told of carriers.
func (s *Seat) looks() bool { return s.looker == nil || s.looker.Looks() }

// hears reports whether the station hears what begins now, if it is another's.
func (s *Seat) hears(now Tick) bool { return s.deaf <= now && !s.cut }

// notices reports whether a carrier that reaches the station, or its own, is on.
func (s *Seat) notices(now Tick) bool { return now < s.loud || now < s.own }

// admit is how many of n characters from outside the line still carries.
func (s *Seat) admit(now Tick, n int) int {
	s.carried = max(s.carried, now-portAhead)
	n = min(n, int((now+Character-s.carried)/Character))
	s.carried += Tick(n) * Character
	return n
}

// hearCarrier has the station hear of a carrier that goes on or off. What is heard is
// large, so it is filled in place.
func (s *Seat) hearCarrier(at Tick, carrier int8) {
	s.heard = append(s.heard, Heard{})
	h := &s.heard[len(s.heard)-1]
	h.At, h.Carrier = at, carrier
}
