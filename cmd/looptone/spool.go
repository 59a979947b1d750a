package main

import (
	"fmt"
	"io"
	"slices"
	"sync/atomic"
	"time"
)

// A spool is a writer that never blocks: a line in real time cannot wait for
// whoever reads along. What comes while too much is waiting is lost and counted.
type spool struct {
	waiting chan []byte
	done    chan struct{}
	lost    atomic.Int64
	err     error // of the first write that failed; behind it nothing is written
}

// spoolLen is how many writes may wait.
const spoolLen = 4096

// newSpool is a spool for w; failed is called when a write to it fails.
func newSpool(w io.Writer, failed func()) *spool {
	s := &spool{waiting: make(chan []byte, spoolLen), done: make(chan struct{})}
	go func() {
		defer close(s.done)
		for b := range s.waiting {
			if s.err == nil {
				if _, s.err = w.Write(b); s.err != nil {
					failed()
				}
			}
		}
	}()
	return s
}

func (s *spool) Write(b []byte) (int, error) {
	select {
	case s.waiting <- slices.Clone(b):
	default:
		s.lost.Add(1)
	}
	return len(b), nil
}

// Close waits for what is waiting, but not for long, and tells what was lost.
func (s *spool) Close() error {
	close(s.waiting)
	lost := s.lost.Load()
	select {
	case <-s.done:
		if s.err != nil {
			return s.err
		}
	case <-time.After(time.Second):
		lost += int64(len(s.waiting)) + 1
	}
	if lost > 0 {
		return fmt.Errorf("%s were lost: nobody read them", count(int(lost), "line", "lines"))
	}
	return nil
}
