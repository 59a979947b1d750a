package modemcheck

import (
	"context"
	"slices"
	"sync"
	"time"

	"looptone/frame"
)

// An ear keeps what one end hears.
type ear struct {
	mu       sync.Mutex
	arrivals []frame.Arrival
	ended    bool
	news     chan struct{} // holds a token when there is something new
	done     chan struct{} // closed when it listens no more
}

// listen hears an end until it ends or stop is closed. Of what the end has sent itself the
// echo counts only where that is what is tested.
func listen(end End, echo bool, stop <-chan struct{}) *ear {
	e := &ear{news: make(chan struct{}, 1), done: make(chan struct{})}
	go func() {
		defer close(e.done)
		for {
			select {
			case a, ok := <-end.Arrivals():
				if !ok {
					e.end()
					return
				}
				if echo || a.Echo == frame.NoEcho {
					e.hear(a)
				}
			case <-stop:
				return
			}
		}
	}()
	return e
}

func (e *ear) hear(a frame.Arrival) {
	e.mu.Lock()
	e.arrivals = append(e.arrivals, a)
	e.mu.Unlock()
	e.tell()
}

func (e *ear) end() {
	e.mu.Lock()
	e.ended = true
	e.mu.Unlock()
	e.tell()
}

func (e *ear) tell() {
	select {
	case e.news <- struct{}{}:
	default:
	}
}

// state is when the last character was heard, and whether the end has ended.
func (e *ear) state() (last time.Time, ended bool) {
	e.mu.Lock()
	defer e.mu.Unlock()
	for _, a := range slices.Backward(e.arrivals) {
		if len(a.Chars) > 0 {
			return a.At, e.ended
		}
	}
	return last, e.ended
}

// wait returns when there is something new, or after d.
func (e *ear) wait(ctx context.Context, d time.Duration) error {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-e.news:
	case <-ctx.Done():
		return ctx.Err()
	}
	return nil
}

// heard is all that was heard; the ear must have stopped.
func (e *ear) heard() []frame.Arrival { return e.arrivals }

// firstSince is when the first character ended that was heard at or after a moment.
func (e *ear) firstSince(at time.Time, character time.Duration) (time.Time, bool) {
	e.mu.Lock()
	defer e.mu.Unlock()
	for i := range e.arrivals {
		a := &e.arrivals[i]
		if len(a.Chars) == 0 || a.At.Before(at) {
			continue
		}
		first := a.At.Add(-time.Duration(len(a.Chars)-1) * character)
		if first.Before(at) {
			first = at
		}
		return first, true
	}
	return time.Time{}, false
}
