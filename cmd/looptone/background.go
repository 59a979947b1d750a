package main

import "io"

// A background writer is a buffer that is written while the next one fills: nobody
// waits for the disk but at the end. What is written comes in the order in which it
// was given; an error is given back by a later Flush or by Close.
type background struct {
	w     io.Writer
	buf   []byte      // is being filled
	full  chan []byte // to be written
	empty chan []byte // that were
	err   error       // of the first write that failed; set before done is closed
	done  chan struct{}
}

const (
	// bufferLen is how much is written at once: that costs a kernel a fifth less than
	// pieces of 64 KiB, and more would leave the caches.
	bufferLen = 256 << 10
	// lineLen is more than most lines have.
	lineLen = 4 << 10
)

func newBackground(w io.Writer) *background {
	b := &background{w: w, full: make(chan []byte, 2), empty: make(chan []byte, 2), done: make(chan struct{})}
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

// room is the buffer itself, with room for a line at its end. Who appends to it
// gives it back to take, which saves a copy.
func (b *background) room() []byte {
	if cap(b.buf)-len(b.buf) < lineLen {
		b.Flush()
	}
	if b.buf == nil {
		b.buf = make([]byte, 0, bufferLen)
	}
	return b.buf
}

// take takes back what room gave.
func (b *background) take(buf []byte) { b.buf = buf }

// Write takes a copy of p.
func (b *background) Write(p []byte) (int, error) {
	b.take(append(b.room(), p...))
	return len(p), nil
}

// WriteString is Write of a string.
func (b *background) WriteString(s string) (int, error) {
	b.take(append(b.room(), s...))
	return len(s), nil
}

// Flush hands on what there is. After an error that is lost.
func (b *background) Flush() error {
	if len(b.buf) == 0 {
		return nil
	}
	select {
	case empty := <-b.empty:
		b.full <- b.buf
		b.buf = empty[:0]
		return nil
	case <-b.done:
		b.buf = b.buf[:0]
		return b.err
	}
}

// Close waits for what is on its way.
func (b *background) Close() error {
	b.Flush()
	close(b.full)
	<-b.done
	return b.err
}
