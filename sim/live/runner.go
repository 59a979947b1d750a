// Package live runs a line against the wall clock, with wires on it that lead
// outside.
package live

import (
	"context"
	"iter"
	"sync"
	"time"

	"looptone/frame"
	"looptone/sim"
)

// A Wire leads to somewhere outside: a serial port, a pty, a TCP connection.
type Wire interface {
	// Send transmits chars. The first start bit is due at moment at; the
	// carrier is on for lead before it and for tail behind the last stop bit.
	// Send returns when the last character has left, or when ctx ends.
	Send(ctx context.Context, at time.Time, lead, tail time.Duration, chars []byte) error
	// Arrivals is closed when the wire has ended.
	Arrivals() <-chan frame.Arrival
}

// A Runner runs a line in real time: line time 0 is the moment when Run began.
// The line belongs to Run while that is running.
type Runner struct {
	line  *sim.Line
	epoch time.Time
	inbox chan call

	work    sync.WaitGroup
	running context.Context // ends with Run
	stop    context.CancelFunc
}

// call is something to do between two events of the line, when that has run up
// to a moment.
type call struct {
	at time.Time
	do func()
}

// NewRunner is a runner for line, whose own time must not have begun. It is good
// for one Run.
func NewRunner(line *sim.Line) *Runner {
	r := &Runner{line: line, inbox: make(chan call, 64)}
	r.running, r.stop = context.WithCancel(context.Background())
	return r
}

// Run runs the line up to the present, again and again, until ctx ends or until
// reports true; nil never does. Wires that are attached are left open.
func (r *Runner) Run(ctx context.Context, until func() bool) {
	defer r.work.Wait()
	defer r.stop()
	r.epoch = time.Now()
	timer := time.NewTimer(0)
	defer timer.Stop()
	for {
		r.catchUp()
		if until != nil && until() {
			return
		}
		timer.Reset(r.untilNext())
		select {
		case <-ctx.Done():
			return
		case <-timer.C:
		case c := <-r.inbox:
			r.call(c)
		}
	}
}

// catchUp runs the line up to the present. What is waiting goes first: it has
// come in before, and a line that had run further would take the time that it
// waited for silence.
func (r *Runner) catchUp() {
	for {
		select {
		case c := <-r.inbox:
			r.call(c)
		default:
			r.line.Run(r.now())
			return
		}
	}
}

func (r *Runner) call(c call) {
	r.line.Run(r.tick(c.at))
	c.do()
}

// Stop lets line time stand still until Go. While a wire leads outside, time there
// goes on: then the error says so.
func (r *Runner) Stop() error { return nil }

// Go lets line time go on.
func (r *Runner) Go() error { return nil }

// OnLate has tell told, between two events of the line, of each message that left
// a wire later than it should have by more than hold, 2 characters: the turn that
// it used was over.
func (r *Runner) OnLate(tell func(by time.Duration)) {}

// Do has f called between two events of the line, with the line up to the
// present. When Run ends first, f is not called. Do does not wait for f.
func (r *Runner) Do(f func()) { r.do(time.Now(), f) }

func (r *Runner) do(at time.Time, f func()) {
	select {
	case r.inbox <- call{at, f}:
	case <-r.running.Done():
	}
}

// Attach gives w a seat on the line until the wire or Run ends; when the wire
// does, ended is called between two events of the line, if it is not nil. Attach
// may be called from any goroutine, before Run and during it.
func (r *Runner) Attach(w Wire, ended func()) {
	r.work.Go(func() {
		out := &outlet{runner: r, mail: make(chan message, backlog)}
		attached, detach := context.WithCancel(r.running)
		defer detach()
		r.work.Go(func() { out.send(attached, w) })
		var seat *sim.Seat
		r.Do(func() { seat = r.line.Join(out) })
		for a := range r.arrivals(w) {
			r.do(a.At, func() { r.arrive(seat, a) })
		}
		r.Do(func() {
			r.line.Leave(seat)
			if ended != nil {
				ended()
			}
		})
	})
}

// arrivals are those of w until it or Run ends.
func (r *Runner) arrivals(w Wire) iter.Seq[frame.Arrival] {
	return func(yield func(frame.Arrival) bool) {
		for {
			select {
			case a, ok := <-w.Arrivals():
				if !ok || !yield(a) {
					return
				}
			case <-r.running.Done():
				return
			}
		}
	}
}

func (r *Runner) arrive(seat *sim.Seat, a frame.Arrival) {
	at := min(r.tick(a.At), r.line.Now())
	r.line.Arrive(seat, at, a.Chars, a.Marks)
}

func (r *Runner) now() sim.Tick { return r.tick(time.Now()) }

func (r *Runner) tick(t time.Time) sim.Tick { return sim.Ticks(t.Sub(r.epoch)) }

func (r *Runner) time(t sim.Tick) time.Time { return r.epoch.Add(t.Duration()) }

// untilNext is how long nothing will happen on the line.
func (r *Runner) untilNext() time.Duration {
	const longest = time.Hour // the line is stepped now and then, so that its end of time is no case of its own
	next := r.line.Next()
	if next > r.line.Now()+sim.Ticks(longest) {
		return longest
	}
	return time.Until(r.time(next))
}
