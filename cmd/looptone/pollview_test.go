package main

import (
	"io"
	"testing"
	"time"
)

// A line in real time is not kept waiting by whoever does not read what is said beside
// the results.
func TestPollDoesNotWaitForWhoReads(t *testing.T) {
	unread, stderr := io.Pipe()
	defer unread.Close()
	l := newPollLines(&pollOptions{}, func() {}, io.Discard, stderr)
	ended := make(chan error)
	go func() {
		for range 100 {
			l.say("something happened")
		}
		ended <- l.end(nil)
	}()
	select {
	case err := <-ended:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(20 * time.Second):
		t.Fatal("what is said waits for somebody to read it")
	}
}
