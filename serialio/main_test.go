package serialio

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"looptone/frame"

	"github.com/creack/pty"
	"go.uber.org/goleak"
)

func TestMain(m *testing.M) {
	if name, ok := os.LookupEnv(openerEnv); ok {
		openAndHold(name)
		return
	}
	goleak.VerifyTestMain(m)
}

// A Port is what the drivers of simulated lines want.
var _ interface {
	Send(ctx context.Context, at time.Time, lead, tail time.Duration, chars []byte) error
	Arrivals() <-chan frame.Arrival
	Err() error
} = (*Port)(nil)

// pair is a pty and the same pty opened by its link, as a program under test
// would.
func pair(t *testing.T) (ours, theirs *Port) {
	t.Helper()
	link := filepath.Join(t.TempDir(), "line")
	ours, err := NewPTY(link)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { ours.Close() })
	theirs, err = Open(link, Settings{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { theirs.Close() })
	return ours, theirs
}

// unread is both ends of ptys where nobody reads the other one.
func unread(t *testing.T) map[string]*Port {
	t.Helper()
	ours, err := NewPTY(filepath.Join(t.TempDir(), "line"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { ours.Close() })
	silent, slave, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { silent.Close(); slave.Close() })
	theirs, err := Open(slave.Name(), Settings{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { theirs.Close() })
	return map[string]*Port{"made here": ours, "opened by name": theirs}
}

// sockets is a client and the port that the listener made of it.
func sockets(t *testing.T) (client, server *Port) {
	t.Helper()
	l, err := Listen("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	if client, err = Dial(t.Context(), l.Addr(), Settings{}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { client.Close() })
	if server, err = l.Accept(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { server.Close() })
	return client, server
}

// soon bounds what a test waits for.
func soon(t *testing.T) context.Context {
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	t.Cleanup(cancel)
	return ctx
}

// collect reads n characters from p.
func collect(t *testing.T, p *Port, n int) []byte {
	t.Helper()
	var got []byte
	for ctx := soon(t); len(got) < n; {
		select {
		case a, ok := <-p.Arrivals():
			if !ok {
				t.Fatalf("port ended behind %d of %d characters: %v", len(got), n, p.Err())
			}
			if len(a.Chars) == 0 {
				t.Fatal("an arrival without characters")
			}
			got = append(got, a.Chars...)
		case <-ctx.Done():
			t.Fatalf("got %d characters, want %d", len(got), n)
		}
	}
	return got
}

// drain reads p to its end.
func drain(t *testing.T, p *Port) (got []byte) {
	t.Helper()
	for ctx := soon(t); ; {
		select {
		case a, ok := <-p.Arrivals():
			if !ok {
				return got
			}
			got = append(got, a.Chars...)
		case <-ctx.Done():
			t.Fatal("the port did not end")
		}
	}
}

// overdue is a time so long ago that everything goes at once.
var overdue = time.Now().Add(-time.Hour)

func allValues() []byte {
	all := make([]byte, 256)
	for i := range all {
		all[i] = byte(i)
	}
	return all
}

func exchange(t *testing.T, a, b *Port) {
	t.Helper()
	all := allValues()
	for _, way := range []struct{ from, to *Port }{{a, b}, {b, a}} {
		if err := way.from.Send(t.Context(), overdue, 0, 0, all); err != nil {
			t.Fatal(err)
		}
		if got := collect(t, way.to, len(all)); !bytes.Equal(got, all) {
			t.Errorf("%s to %s: got % x", way.from.Name(), way.to.Name(), got)
		}
	}
}
