package main

import "io"

// A background writer writes while lines are made: nobody waits for the disk but at
// the end. What is written comes in the order in which it was given; an error is
// given back by a later Write or by Close.
type background struct {
	w     io.Writer
	full  chan []byte // to be written
	empty chan []byte // that were
	err   error       // of the first write that failed; set before done is closed
	done  chan struct{}
}

func newBackground(w io.Writer) *background {
	b := &background{w: w, full: make(chan []byte, 2), empty: make(chan []byte, 3), done: make(chan struct{})}
	for range cap(b.empty) {
		b.empty <- nil
	}
	go b.run()
	return b
}

func (b *background) run() {
	defer close(b.done)
	for p := range b.full {
		if _, b.err = b.w.Write(p); b.err != nil {
			return
		}
		b.empty <- p
	}
}

// Write takes a copy of p.
func (b *background) Write(p []byte) (int, error) {
	select {
	case room := <-b.empty:
		b.full <- append(room[:0], p...)
		return len(p), nil
	case <-b.done:
		return 0, b.err
	}
}

// Close waits for what is on its way.
func (b *background) Close() error {
	close(b.full)
	<-b.done
	return b.err
}
