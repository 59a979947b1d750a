package sim

// A Seat is a station's place on a line.
type Seat struct {
	Name string // of the station, as a log and messages call it

	station Station
	port    Listener // the station, if it is one
	wake    Tick
	free    Tick // until then it has something to send
	deaf    Tick // what began before that it did not hear: its own carrier was on, or it was not there
	carried Tick // until then its characters from outside, one after the other, fill the line
	carrier bool // whether it hears one
	heard   []Heard

	muted, cut, echo bool
	detect           Tick
	sent             int64
}

// Outside reports whether the station is a port: who talks there is somewhere
// outside.
func (s *Seat) Outside() bool { return s.port != nil }

// Mute keeps what the station sends from the line, from now on or no longer. A
// burst that has begun goes on.
func (s *Seat) Mute(on bool) { s.muted = on }

// Cut takes the station off the wires, or puts it back: it is not heard and hears
// nothing.
func (s *Seat) Cut(on bool) { s.cut = on }

// Echo lets the station hear what it sends itself, or no longer.
func (s *Seat) Echo(on bool) { s.echo = on }

// DetectAfter is how long a carrier must be on until the station is told of it.
func (s *Seat) DetectAfter(d Tick) { s.detect = d }

// Sent is how many characters of the station's were on the line.
func (s *Seat) Sent() int64 { return s.sent }
