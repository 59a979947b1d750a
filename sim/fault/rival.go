package fault

import (
	"looptone/frame"
	"looptone/sim"
	"looptone/sim/master"
)

// rest is how long a second primary master that has noticed the first one keeps
// off the line, at least; by chance it is up to twice as long.
const rest = 5 * sim.Second

// unknownPreambles is how many preambles go to a device that nobody knows yet.
const unknownPreambles = 20

// rival is a second primary master. When it hears the first one ask it stops, as a
// real one does, and comes back after a rest.
type rival struct {
	fault  *active
	every  sim.Tick
	master *master.Master // nil while it rests
	since  sim.Tick       // it is on the line
	back   sim.Tick
	busy   bool // a carrier is on
}

func beginRival(s *Set, f *active, now sim.Tick) {
	r := &rival{fault: f, every: f.ticks("every_s", sim.Second)}
	r.come(now)
	f.seat = s.line.Join(r)
	f.seat.Name = "second primary master"
	f.stops = r.stop
}

func endRival(s *Set, f *active, _ sim.Tick) {
	s.line.Leave(f.seat)
	f.stops()
}

// ask is the script: who is at each polling address, with a period between two
// questions.
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

// Step is the master's, but for its rests.
func (r *rival) Step(now sim.Tick, heard []sim.Heard) (*sim.Burst, sim.Tick) {
	for i := range heard {
		if c := heard[i].Carrier; c != 0 {
			r.busy = c > 0
		}
	}
	if r.master == nil {
		if now < r.back {
			return nil, r.back
		}
		heard = r.come(now)
	}
	send, wake := r.master.Step(now, heard)
	if !r.master.Done() {
		return send, wake
	}
	r.stop()
	r.back = now + rest + sim.Tick(r.fault.chance.Int64N(int64(rest)))
	return nil, r.back
}

// come lets the master join the line anew; it is told of a carrier that is on.
func (r *rival) come(now sim.Tick) (heard []sim.Heard) {
	r.since, r.master = now, master.New(master.Config{Primary: true}, r.ask)
	if r.busy {
		heard = []sim.Heard{{At: now, Carrier: +1}}
	}
	return heard
}

func (r *rival) stop() {
	if r.master != nil {
		r.master.Close()
		r.master = nil
	}
}
