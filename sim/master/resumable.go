package master

import "iter"

// A Resumable is a script that one master after the other can carry out. A transaction
// that one of them has not ended is begun anew by the next: who wrote the script does
// not notice.
type Resumable struct {
	next  func() (*Transaction, bool)
	stop  func()
	going *Transaction // handed out and not ended
}

// Resume makes a script resumable. Who does so ends it by [Resumable.Stop].
func Resume(script Script) *Resumable {
	next, stop := iter.Pull(script)
	return &Resumable{next: next, stop: stop}
}

// Stop ends the script, wherever it is.
func (r *Resumable) Stop() { r.stop() }

// Run is the script, from where it was left on.
func (r *Resumable) Run(yield func(*Transaction) bool) {
	for {
		if r.going == nil {
			t, more := r.next()
			if !more {
				return
			}
			r.going = t
		}
		if !yield(r.going) {
			return
		}
		r.going = nil
	}
}
