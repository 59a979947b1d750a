package serialio

import (
	"bytes"
	"context"
	"errors"
	"testing"
	"time"
)

func TestEveryValuePassesBothWays(t *testing.T) {
	t.Run("pty", func(t *testing.T) {
		ours, theirs := pair(t)
		exchange(t, ours, theirs)
	})
	t.Run("TCP", func(t *testing.T) {
		client, server := sockets(t)
		exchange(t, client, server)
	})
}

func TestArrivalCarriesTheTimeOfItsRead(t *testing.T) {
	ours, theirs := pair(t)
	before := time.Now()
	if err := ours.Send(t.Context(), before, 0, 0, []byte{0xff}); err != nil {
		t.Fatal(err)
	}
	a := <-theirs.Arrivals()
	if a.At.Before(before.Add(Settings{}.Characters(1))) || a.At.After(time.Now()) {
		t.Errorf("stamped %v behind the start bit", a.At.Sub(before))
	}
}

// A consumer that is busy while more comes in than the backlog holds.
func TestNothingIsLostWhileTheConsumerIsBusy(t *testing.T) {
	ours, theirs := pair(t)
	want := bytes.Repeat(allValues(), 16)
	if err := ours.Send(soon(t), overdue, 0, 0, want); err != nil {
		t.Fatal(err)
	}
	if got := collect(t, theirs, len(want)); !bytes.Equal(got, want) {
		t.Error("characters were lost or changed")
	}
}

// chatter is a line on which something comes in all the time.
type chatter struct {
	*recorder
	reads int
	many  chan struct{} // closed when the backlog must be full
}

func (c *chatter) Read(b []byte) (int, error) {
	if c.reads++; c.reads == backlog+1 {
		close(c.many)
	}
	b[0] = byte(c.reads)
	return 1, nil
}

func TestCloseNeedsNoConsumer(t *testing.T) {
	c := &chatter{recorder: newRecorder(), many: make(chan struct{})}
	p := newPort("chatter", c, Settings{})
	<-c.many
	if err := p.Close(); err != nil {
		t.Error(err)
	}
	if got := drain(t, p); len(got) != backlog || p.Err() != nil {
		t.Errorf("got %d characters, want %d; %v", len(got), backlog, p.Err())
	}
}

func TestCloseReleasesAWriteThatNobodyReads(t *testing.T) {
	for _, end := range []string{"made here", "opened by name"} {
		t.Run(end, func(t *testing.T) {
			p := unread(t)[end]
			sent := make(chan error, 1)
			go func() { sent <- p.Send(soon(t), overdue, 0, 0, make([]byte, 1<<20)) }()
			p.Close()
			if err := <-sent; !errors.Is(err, ErrClosed) {
				t.Errorf("got %v, want %v", err, ErrClosed)
			}
		})
	}
}

func TestCloseReleasesASendThatWaits(t *testing.T) {
	ours, _ := pair(t)
	sent := make(chan error, 2)
	for range 2 { // one waits for its time, one for its turn
		go func() { sent <- ours.Send(soon(t), time.Now().Add(time.Hour), 0, 0, []byte{1}) }()
	}
	ours.Close()
	for range 2 {
		if err := <-sent; !errors.Is(err, ErrClosed) {
			t.Errorf("got %v, want %v", err, ErrClosed)
		}
	}
	if err := ours.Close(); err != nil {
		t.Errorf("closed again: %v", err)
	}
	if err := ours.Send(t.Context(), overdue, 0, 0, []byte{1}); !errors.Is(err, ErrClosed) {
		t.Errorf("send behind close: %v", err)
	}
}

func TestSendThatNobodyReadsEndsWithItsContext(t *testing.T) {
	for _, p := range unread(t) {
		ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
		err := p.Send(ctx, overdue, 0, 0, make([]byte, 1<<20))
		cancel()
		if !errors.Is(err, context.DeadlineExceeded) {
			t.Fatalf("got %v", err)
		}
		// Again as much: the kernel may have found room for some of it.
		ctx, cancel = context.WithTimeout(t.Context(), 20*time.Millisecond)
		if err = p.Send(ctx, overdue, 0, 0, make([]byte, 1<<20)); !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("sent again: got %v", err)
		}
		cancel()
	}
}

func TestSendGoesOnBehindOneThatWasCancelled(t *testing.T) {
	client, server := sockets(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := client.Send(ctx, overdue, 0, 0, []byte{1}); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	if err := client.Send(t.Context(), overdue, 0, 0, []byte{2}); err != nil {
		t.Fatal(err)
	}
	if got := collect(t, server, 1); got[0] != 2 {
		t.Errorf("got %x, want 2", got)
	}
}

func TestSendStopsBeforeTheNextCharacter(t *testing.T) {
	ours, theirs := pair(t)
	ctx, cancel := context.WithCancel(t.Context())
	sent := make(chan error)
	go func() { sent <- ours.Send(ctx, time.Now(), 0, 0, make([]byte, 100)) }()
	got := len(collect(t, theirs, 3))
	cancel()
	if err := <-sent; !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	ours.Close()
	if got += len(drain(t, theirs)); got > 50 {
		t.Errorf("%d characters left", got)
	}
}

func TestMessagesOfTwoSendersDoNotMix(t *testing.T) {
	client, server := sockets(t)
	const n = 1000
	for _, c := range []byte{1, 2} {
		go client.Send(soon(t), overdue, 0, 0, bytes.Repeat([]byte{c}, n))
	}
	got := collect(t, server, 2*n)
	if first := got[:1]; bytes.Count(got[:n], first) != n {
		t.Error("two messages were mixed")
	}
}

func TestOtherEndGoes(t *testing.T) {
	t.Run("pty made here is closed", func(t *testing.T) {
		ours, theirs := pair(t)
		ours.Close()
		drain(t, theirs)
		wantGone(t, theirs)
	})
	t.Run("pty made here stays when its client goes", func(t *testing.T) {
		ours, theirs := pair(t)
		theirs.Close()
		again, err := Open(ours.Name(), Settings{})
		if err != nil {
			t.Fatal(err)
		}
		defer again.Close()
		exchange(t, ours, again)
	})
	t.Run("TCP", func(t *testing.T) {
		client, server := sockets(t)
		client.Close()
		drain(t, server)
		wantGone(t, server)
	})
}

func wantGone(t *testing.T, p *Port) {
	t.Helper()
	want := "read " + p.Name() + ": the other end is gone"
	if err := p.Err(); !errors.Is(err, ErrGone) || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}
