package capture

import (
	"cmp"
	"io"
	"sync"
	"time"

	"looptone/frame"
)

// A Recording says what a [Recorder] is to write, and where to.
type Recording struct {
	Streams []Stream
	// Open opens the next file: once, or with RotateSize or RotateEvery as often as
	// one is to begin. It must be empty or end with the end of a line.
	Open func() (File, error)
	// Buffer is how many bytes may wait for a disk that is slow, with what is kept
	// beside every character that came alone; 0 stands for 1 MiB.
	Buffer int
	// RotateSize is how many bytes a file holds until another one begins, and
	// RotateEvery for how long it is written; 0 for no limit. A file ends where
	// the line is silent, so that no message is divided, and is complete.
	RotateSize  int64
	RotateEvery time.Duration
	// MaxSize is how many bytes are written in all; 0 for no limit.
	MaxSize int64
	// Trouble is told when writing begins to fail, and nil when it goes on. It is
	// called by the goroutine that writes.
	Trouble func(error)
}

// A File is what a Recorder writes to.
type File interface {
	io.WriteCloser
	// Discard closes and removes a file in which nothing stands.
	Discard() error
}

// A Recorder writes what ports hand on to capture files. Nobody ever waits for the
// disk: characters that find no room in the buffer, or cannot be written, are counted,
// and as soon as there is room the file tells how many were lost.
type Recorder struct {
	mu      sync.Mutex
	queue   queue
	closing bool
	lost    int64

	wake  chan struct{} // holds a token when there is something new
	ended chan struct{}
	full  chan struct{}
	pen   scribe // of run, once that runs
}

const defaultBuffer = 1 << 20

// Start begins to record. It opens the first file, and fails when that cannot be
// written. Time 0 is now.
func (r Recording) Start() (*Recorder, error) {
	rec := &Recorder{
		queue: queue{room: cmp.Or(r.Buffer, defaultBuffer), lost: make([]missing, len(r.Streams))},
		wake:  make(chan struct{}, 1), ended: make(chan struct{}), full: make(chan struct{}),
	}
	rec.pen = newScribe(r)
	if err := rec.pen.start(time.Now()); err != nil {
		return nil, err
	}
	go rec.run()
	return rec, nil
}

// Heard takes what came in of a stream, and keeps its slices. It never blocks.
func (r *Recorder) Heard(stream uint8, a *frame.Arrival) {
	if a.Carrier != 0 {
		change := carrierOn
		if a.Carrier < 0 {
			change = carrierOff
		}
		r.put(entry{what: change, stream: stream, at: a.At})
	}
	if len(a.Chars) > 0 {
		r.put(entry{what: characters, stream: stream, at: a.At, chars: a.Chars, marks: a.Marks})
	}
}

// Gone notes that a stream is not heard any more, and why, in one line.
func (r *Recorder) Gone(stream uint8, at time.Time, why string) {
	r.put(entry{what: remark, stream: stream, at: at, text: why})
	r.put(entry{what: carrierOff, stream: stream, at: at})
}

// Resumed notes that a stream is heard again that was gone. Another recording begins
// in the file, so that nobody is called silent whom nobody heard.
func (r *Recorder) Resumed(stream uint8, at time.Time) {
	r.put(entry{what: resumption, stream: stream, at: at})
}

func (r *Recorder) put(e entry) {
	r.mu.Lock()
	if !r.closing && !r.queue.put(e) {
		r.lost += int64(len(e.chars))
	}
	r.mu.Unlock()
	r.rouse()
}

// rouse wakes run.
func (r *Recorder) rouse() {
	select {
	case r.wake <- struct{}{}:
	default:
	}
}

// Full is closed when MaxSize is reached; behind that nothing is recorded.
func (r *Recorder) Full() <-chan struct{} { return r.full }

// Lost is how many characters were lost so far.
func (r *Recorder) Lost() int64 {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.lost
}

// Close writes what waits and the end of the recording. It waits for the disk, and
// gives what keeps the recording from being complete.
func (r *Recorder) Close() error {
	r.mu.Lock()
	r.closing = true
	r.mu.Unlock()
	r.rouse()
	<-r.ended
	return r.pen.err
}

// run writes until the recording is closed or full.
func (r *Recorder) run() {
	defer close(r.ended)
	clock := time.NewTimer(0)
	defer clock.Stop()
	for {
		e, ok, closing := r.next()
		switch {
		case ok:
			r.done(&e, r.pen.take(&e))
		case closing:
			r.pen.finish()
			return
		default:
			clock.Reset(r.pen.idle(time.Now()))
			select {
			case <-r.wake:
			case <-clock.C:
			}
		}
		if r.pen.isFull() {
			r.pen.finish()
			r.stop()
			return
		}
	}
}

func (r *Recorder) next() (e entry, ok, closing bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	e, ok = r.queue.next()
	return e, ok, r.closing
}

// done gives room back, whether the entry was written or not.
func (r *Recorder) done(e *entry, written bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.queue.written(e)
	if !written {
		r.lost += int64(len(e.chars))
	}
}

// stop takes nothing any more.
func (r *Recorder) stop() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.closing = true
	close(r.full)
}
