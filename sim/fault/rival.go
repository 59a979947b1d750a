package fault

import (
	"looptone/frame"
	"looptone/sim"
	"looptone/sim/master"
)

// secondPrimary is the name of its seat.
const secondPrimary = "second primary master"

// unknownPreambles is how many preambles go to a device that nobody knows yet.
const unknownPreambles = 20

// rivalDetect is how long a carrier is on until a second primary master notices it.
// The turns of two primary masters are the same to the tick: with ideal carrier
// detect they would never talk at the same time.
//
// Source: from memory (a modem needs some bits for it).
const rivalDetect = 6 * sim.Bit

// rival is what a second primary master asks: who is at each polling address, with a
// period between two questions.
type rival struct {
	every sim.Tick
	since sim.Tick // it is on the line
}

func beginRival(s *Set, f *active, now sim.Tick) {
	r := &rival{every: f.ticks("every_s", sim.Second), since: now}
	m := master.New(master.Config{Primary: true, Heedless: true}, r.ask)
	f.seat = s.line.Join(m)
	f.seat.Name = secondPrimary
	f.stops = m.Close
	s.tune(f.seat)
}

func endRival(s *Set, f *active, _ sim.Tick) {
	s.line.Leave(f.seat)
	f.stops()
}

// ask is the script.
func (r *rival) ask(yield func(*master.Transaction) bool) {
	earliest := r.since + sim.LinkQuietPrimary
	for n := uint8(0); ; n = (n + 1) % (frame.MaxPolling5 + 1) {
		t := master.Transaction{Address: frame.Polling(n), Preambles: unknownPreambles, Earliest: earliest}
		if !yield(&t) {
			return
		}
		earliest = max(earliest+r.every, t.Asked) // it does not catch up
	}
}
