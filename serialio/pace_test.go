package serialio

import (
	"context"
	"errors"
	"io"
	"slices"
	"testing"
	"time"
)

// recorder is a line that notes when it was written to.
type recorder struct {
	at     []time.Time
	writes [][]byte
	then   func() // behind each write
	stop   chan struct{}
}

func newRecorder() *recorder { return &recorder{then: func() {}, stop: make(chan struct{})} }

func (r *recorder) Read([]byte) (int, error) { <-r.stop; return 0, io.EOF }
func (r *recorder) Close() error             { close(r.stop); return nil }
func (r *recorder) Write(b []byte) (int, error) {
	r.at = append(r.at, time.Now())
	r.writes = append(r.writes, slices.Clone(b))
	r.then()
	return len(b), nil
}
func (r *recorder) SetWriteDeadline(time.Time) error { return nil }

func TestEachCharacterLeavesWhenItsStopBitEnds(t *testing.T) {
	r := newRecorder()
	p := newPort("recorder", r, Settings{})
	defer p.Close()
	const n = 100
	at := time.Now().Add(20 * time.Millisecond)
	if err := p.Send(t.Context(), at, 0, 0, make([]byte, n)); err != nil {
		t.Fatal(err)
	}
	if len(r.writes) != n {
		t.Fatalf("%d writes, want one a character", len(r.writes))
	}
	var late []time.Duration
	for i, written := range r.at {
		due := at.Add(time.Duration(i+1) * 11 * time.Second / 1200)
		if written.Before(due) {
			t.Fatalf("character %d left %v early", i, due.Sub(written))
		}
		late = append(late, written.Sub(due))
	}
	checkLateness(t, late)
}

func TestTimingOverAPTYAndTCP(t *testing.T) {
	t.Run("pty", func(t *testing.T) {
		ours, theirs := pair(t)
		checkLateness(t, arrivalLateness(t, ours, theirs))
	})
	t.Run("pty, from its client", func(t *testing.T) {
		ours, theirs := pair(t)
		checkLateness(t, arrivalLateness(t, theirs, ours))
	})
	t.Run("TCP", func(t *testing.T) {
		client, server := sockets(t)
		checkLateness(t, arrivalLateness(t, client, server))
	})
}

func arrivalLateness(t *testing.T, from, to *Port) (late []time.Duration) {
	t.Helper()
	const n = 50
	at := time.Now()
	if err := from.Send(t.Context(), at, 0, 0, make([]byte, n)); err != nil {
		t.Fatal(err)
	}
	for i := 0; i < n; {
		a := <-to.Arrivals()
		i += len(a.Chars)
		d := a.At.Sub(at.Add(Settings{}.Characters(i)))
		if d < 0 {
			t.Fatalf("character %d came %v early", i-1, -d)
		}
		late = append(late, d)
	}
	return late
}

// checkLateness asks for the millisecond of most characters only: other work
// on the machine can delay any single one. Drift would show in the median.
func checkLateness(t *testing.T, late []time.Duration) {
	t.Helper()
	slices.Sort(late)
	median, p95, last := late[len(late)/2], late[len(late)*95/100], late[len(late)-1]
	t.Logf("late by %v (median), %v (95 %%), %v (most)", median, p95, last)
	if median > time.Millisecond {
		t.Errorf("half of the characters left more than %v late, want a millisecond at most", median)
	}
}

func TestCharactersThatAreLateGoAtOnce(t *testing.T) {
	r := newRecorder()
	p := newPort("recorder", r, Settings{})
	defer p.Close()
	start := time.Now()
	at := start.Add(-Settings{}.Characters(90))
	if err := p.Send(t.Context(), at, 0, 0, make([]byte, 92)); err != nil {
		t.Fatal(err)
	}
	if due := at.Add(Settings{}.Characters(91)); !r.at[89].Before(due) || r.at[90].Before(due) {
		t.Errorf("characters 90 and 91 left %v and %v behind the call, want %v for the latter",
			r.at[89].Sub(start), r.at[90].Sub(start), due.Sub(start))
	}
}

// hardware is a line that clocks characters out by itself.
type hardware struct {
	*recorder
	discarded int
}

func (h *hardware) Discard() error { h.discarded++; return nil }

func TestUARTGetsAMessageInOneWrite(t *testing.T) {
	h := &hardware{recorder: newRecorder()}
	p := newPort("hardware", h, Settings{})
	defer p.Close()
	at := time.Now().Add(5 * time.Millisecond)
	if err := p.Send(t.Context(), at, 0, 0, []byte{1, 2, 3}); err != nil {
		t.Fatal(err)
	}
	if len(h.writes) != 1 || len(h.writes[0]) != 3 || h.at[0].Before(at) {
		t.Errorf("writes %v at %v behind the due time", h.writes, h.at[0].Sub(at))
	}
	if left := time.Since(h.at[0]); left < (Settings{}).Characters(3) {
		t.Errorf("Send returned %v behind the write, before the last stop bit", left)
	}
	if h.discarded != 0 {
		t.Error("a message that was sent was discarded")
	}
}

func TestUARTDropsTheRestWhenItsContextEnds(t *testing.T) {
	h := &hardware{recorder: newRecorder()}
	p := newPort("hardware", h, Settings{})
	defer p.Close()
	ctx, cancel := context.WithCancel(t.Context())
	h.then = cancel
	err := p.Send(ctx, overdue, 0, 0, make([]byte, 200))
	if !errors.Is(err, context.Canceled) || h.discarded != 1 {
		t.Errorf("got %v, discarded %d times", err, h.discarded)
	}
}

func TestCharacterTimesDoNotAddUpRounding(t *testing.T) {
	tests := []struct {
		settings Settings
		n        int
		want     time.Duration
	}{
		{Settings{}, 0, 0},
		{Settings{}, 1, 9166666 * time.Nanosecond},
		{Settings{}, 1200, 11 * time.Second},
		{Settings{}, 120_000_000, 1_100_000 * time.Second},
		{Settings{Baud: 9600, Parity: NoParity}, 960, time.Second},
	}
	for _, tt := range tests {
		if got := tt.settings.Characters(tt.n); got != tt.want {
			t.Errorf("%+v, %d characters: got %v, want %v", tt.settings, tt.n, got, tt.want)
		}
	}
}

func TestReaderGivesUpOnALineThatReadsNothing(t *testing.T) {
	p := newPort("empty", &emptyReads{newRecorder()}, Settings{})
	defer p.Close()
	if got := drain(t, p); got != nil || !errors.Is(p.Err(), io.ErrNoProgress) {
		t.Errorf("got %x, %v", got, p.Err())
	}
}

type emptyReads struct{ *recorder }

func (*emptyReads) Read([]byte) (int, error) { return 0, nil }
