// Package live runs a line against the wall clock, with wires on it that lead
// outside.
package live

import (
	"context"
	"errors"
	"fmt"
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

// A Runner runs a line in real time: line time 0 is the moment when Run began. On a
// line without wires that time can stand still, or pass more slowly.
// The line belongs to Run while that is running.
type Runner struct {
	line  *sim.Line
	epoch time.Time // when line time was base
	base  sim.Tick
	pace  float64 // of line time since then; 1 is that of the wall clock
	inbox chan call

	attached int       // wires
	stopped  time.Time // since when line time stands still; zero: it does not
	late     func(by time.Duration)
	spoilt   func()

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
	r := &Runner{line: line, pace: 1, inbox: make(chan call, 64)}
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
			r.runTo(time.Now())
			return
		}
	}
}

// runTo runs the line up to a moment, or to the event at which it is stopped.
func (r *Runner) runTo(at time.Time) {
	for r.attached == 0 && r.line.Next() <= r.tick(at) {
		r.line.Run(r.line.Next())
	}
	r.line.Run(r.tick(at))
}

func (r *Runner) call(c call) {
	r.runTo(c.at)
	c.do()
}

// What is refused of line time.
var (
	ErrOutside = errors.New("somebody outside is on the line, whose time does not stand still")
	ErrGoing   = errors.New("line time is going on already")
	ErrPace    = fmt.Errorf("want a pace from %v to 1, which is that of the wall clock", SlowestPace)
)

// SlowestPace is that at which a character takes nine seconds.
const SlowestPace = 0.001

// Stop lets line time stand still until Go, or until a wire is attached: time
// outside goes on, and the error says so. Like Go and Pace it is called between two
// events of the line, or by a station in its step: what happens in the same moment
// still does.
func (r *Runner) Stop() error {
	if r.attached > 0 {
		return ErrOutside
	}
	if r.stopped.IsZero() {
		r.stopped = r.time(r.line.Now())
	}
	return nil
}

// Go lets line time go on.
func (r *Runner) Go() error {
	if r.stopped.IsZero() {
		return ErrGoing
	}
	r.epoch = r.epoch.Add(time.Since(r.stopped))
	r.stopped = time.Time{}
	return nil
}

// Pace lets line time pass more slowly from now on, until a wire is attached; while it
// stands still, from the next Go on.
func (r *Runner) Pace(factor float64) error {
	switch {
	case r.attached > 0:
		return ErrOutside
	case !(SlowestPace <= factor && factor <= 1):
		return ErrPace
	}
	r.setPace(factor)
	return nil
}

// setPace changes the pace at the moment that the line has reached.
func (r *Runner) setPace(factor float64) {
	now := time.Now()
	if !r.stopped.IsZero() {
		now = r.stopped
	}
	r.base, r.epoch = r.tick(now), now
	r.pace = factor
}

// Passes is the pace at which line time passes now; 0 where it stands still.
func (r *Runner) Passes() float64 {
	if !r.stopped.IsZero() {
		return 0
	}
	return r.pace
}

// OnLate has tell told, between two events of the line, by how much a message of
// the line's stations left a wire later than it should have, if that is more than
// hold: the turn that it used was over. To be called before Run.
func (r *Runner) OnLate(tell func(by time.Duration)) { r.late = tell }

func (r *Runner) tellLate(by time.Duration) {
	if r.late != nil {
		r.Do(func() { r.late(by) })
	}
}

// OnSpoilt has tell told, between two events of the line, of what a wire has brought
// back otherwise than it was sent. To be called before Run.
func (r *Runner) OnSpoilt(tell func()) { r.spoilt = tell }

// Do has f called between two events of the line, with the line up to the
// present. When Run ends first, f is not called. Do does not wait for f.
func (r *Runner) Do(f func()) { r.do(time.Now(), f) }

func (r *Runner) do(at time.Time, f func()) {
	select {
	case r.inbox <- call{at, f}:
	case <-r.running.Done():
	}
}

// Attach gives w a seat on the line, with a name, until the wire or Run ends; when
// the wire does, ended is called between two events of the line, if it is not nil.
// Attach may be called from any goroutine, before Run and during it.
func (r *Runner) Attach(name string, w Wire, ended func()) {
	r.work.Go(func() {
		out := &outlet{runner: r, mail: make(chan message, backlog)}
		attached, detach := context.WithCancel(r.running)
		defer detach()
		r.work.Go(func() { out.send(attached, w) })
		var seat *sim.Seat
		r.Do(func() { seat = r.join(name, out) })
		for a := range r.arrivals(w) {
			r.do(a.At, func() { r.arrive(seat, a) })
		}
		r.Do(func() {
			r.line.Leave(seat)
			r.attached--
			if ended != nil {
				ended()
			}
		})
	})
}

func (r *Runner) join(name string, out *outlet) *sim.Seat {
	_ = r.Go() // if it stood still
	r.setPace(1)
	r.attached++
	seat := r.line.Join(out)
	seat.Name = name
	return seat
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

// arrive puts on the line what has come in, but for what a wire has brought back: that
// is on the line already, as it was meant.
func (r *Runner) arrive(seat *sim.Seat, a frame.Arrival) {
	switch {
	case a.Echo == frame.EchoDamaged && r.spoilt != nil:
		r.spoilt()
		return
	case a.Echo != frame.NoEcho, a.Carrier != 0:
		return
	}
	at := min(r.tick(a.At), r.line.Now())
	r.line.Arrive(seat, at, a.Chars, a.Marks)
}

func (r *Runner) tick(t time.Time) sim.Tick {
	if !r.stopped.IsZero() && t.After(r.stopped) {
		t = r.stopped
	}
	return r.base + sim.Ticks(scaled(t.Sub(r.epoch), r.pace))
}

func (r *Runner) time(t sim.Tick) time.Time {
	return r.epoch.Add(scaled((t - r.base).Duration(), 1/r.pace))
}

// scaled is d times a factor, of which 1 changes nothing.
func scaled(d time.Duration, factor float64) time.Duration {
	if factor == 1 {
		return d
	}
	return time.Duration(float64(d) * factor)
}

// untilNext is how long nothing will happen on the line.
func (r *Runner) untilNext() time.Duration {
	const longest = time.Hour // the line is stepped now and then, so that its end of time is no case of its own
	next := r.line.Next()
	if !r.stopped.IsZero() || next > r.line.Now()+sim.Ticks(longest) {
		return longest
	}
	return time.Until(r.time(next))
}
