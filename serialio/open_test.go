package serialio

import (
	"bytes"
	"errors"
	"math"
	"net"
	"os"
	"path/filepath"
	"testing"

	"github.com/creack/pty"
)

func TestErrorsAreSentences(t *testing.T) {
	dir := t.TempDir()
	notes := filepath.Join(dir, "notes.txt")
	writeFile(t, notes)
	socket := filepath.Join(dir, "socket")
	l, err := net.Listen("unix", socket)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	nobody := addressOfNobody(t)
	open := func(name string, s Settings) error { _, err := Open(name, s); return err }
	tests := []struct {
		name string
		err  error
		want string
	}{
		{"missing", open("/dev/no-such-port", Settings{}),
			"open port /dev/no-such-port: no such file or directory"},
		{"file", open(notes, Settings{}),
			"open port " + notes + ": is a file, want a serial port or pty"},
		{"directory", open(dir, Settings{}),
			"open port " + dir + ": is a directory, want a serial port or pty"},
		{"socket", open(socket, Settings{}),
			"open port " + socket + ": is no character device, want a serial port or pty"},
		{"other device", open(os.DevNull, Settings{}),
			"open port /dev/null: not a serial port or pty"},
		{"baud rate", open("/dev/no-such-port", Settings{Baud: -1}),
			"open port /dev/no-such-port: got -1 baud, want at least 1"},
		{"large baud rate", open("/dev/no-such-port", Settings{Baud: math.MaxUint32 + 1}),
			"open port /dev/no-such-port: got 4294967296 baud, want at most 4294967295"},
		{"pty link in no directory", newPTY(filepath.Join(dir, "no", "line")),
			"make pty: link " + filepath.Join(dir, "no", "line") + ": no such file or directory"},
		{"TCP refused", dial(t, nobody), "dial " + nobody + ": connection refused"},
		{"TCP without a port", dial(t, "localhost"), "dial localhost: address localhost: missing port in address"},
		{"listen on what is no port", listen("127.0.0.1:99999"),
			"listen on 127.0.0.1:99999: address 99999: invalid port"},
	}
	for _, tt := range tests {
		var op *OpError
		if tt.err == nil || tt.err.Error() != tt.want || !errors.As(tt.err, &op) {
			t.Errorf("%s:\ngot  %v\nwant %s", tt.name, tt.err, tt.want)
		}
	}
	if !errors.Is(tests[0].err, os.ErrNotExist) {
		t.Error("a missing port is no os.ErrNotExist")
	}
}

// addressOfNobody is an address that somebody has just stopped to listen on.
func addressOfNobody(t *testing.T) string {
	t.Helper()
	l, err := Listen("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr()
}

func newPTY(link string) error {
	p, err := NewPTY(link)
	if err == nil {
		p.Close()
	}
	return err
}

func dial(t *testing.T, addr string) error {
	p, err := Dial(t.Context(), addr, Settings{})
	if err == nil {
		p.Close()
	}
	return err
}

func listen(addr string) error {
	l, err := Listen(addr)
	if err == nil {
		l.Close()
	}
	return err
}

func writeFile(t *testing.T, name string) {
	t.Helper()
	if err := os.WriteFile(name, []byte("a note\n"), 0o644); err != nil {
		t.Fatal(err)
	}
}

func TestLinkThatExistsIsLeftAlone(t *testing.T) {
	dir := t.TempDir()
	link := filepath.Join(dir, "line")
	want := "make pty: link " + link + " exists already; remove it or choose another"
	writeFile(t, link)
	if err := newPTY(link); !errors.Is(err, ErrLinkExists) || err.Error() != want {
		t.Errorf("a file stands there: got %v, want %s", err, want)
	}
	if got, err := os.ReadFile(link); err != nil || string(got) != "a note\n" {
		t.Errorf("the file was touched: %q, %v", got, err)
	}
	other := filepath.Join(dir, "other")
	if err := os.Symlink(link, other); err != nil {
		t.Fatal(err)
	}
	if err := newPTY(other); !errors.Is(err, ErrLinkExists) {
		t.Errorf("a link to a file stands there: got %v", err)
	}
	live := filepath.Join(dir, "live")
	p, err := NewPTY(live)
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close()
	if err := newPTY(live); !errors.Is(err, ErrLinkExists) {
		t.Errorf("a pty in use stands there: got %v", err)
	}
}

func TestDanglingLinkIsReplacedAndRemovedOnClose(t *testing.T) {
	link := filepath.Join(t.TempDir(), "line")
	// The number that the next pty is likely to get, as behind a crash.
	ours, theirs, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	name := theirs.Name()
	ours.Close()
	theirs.Close()
	if err := os.Symlink(name, link); err != nil {
		t.Fatal(err)
	}
	p, err := NewPTY(link)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(link); err != nil {
		t.Error(err)
	}
	p.Close()
	if _, err := os.Lstat(link); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the link is still there: %v", err)
	}
}

func TestLinkThatIsNoLongerOursStays(t *testing.T) {
	link := filepath.Join(t.TempDir(), "line")
	p, err := NewPTY(link)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(link); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(os.DevNull, link); err != nil {
		t.Fatal(err)
	}
	p.Close()
	if target, err := os.Readlink(link); err != nil || target != os.DevNull {
		t.Errorf("got %s, %v", target, err)
	}
}

// Open reaches a pty of another program by its name, raw and empty, whatever
// that program had set and written.
func TestOpenDropsWhatWaited(t *testing.T) {
	ours, theirs, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	defer ours.Close()
	defer theirs.Close()
	if _, err := ours.Write(bytes.Repeat([]byte("old\n"), 500)); err != nil {
		t.Fatal(err)
	}
	p, err := Open(theirs.Name(), Settings{})
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close()
	if _, err := ours.Write(allValues()); err != nil {
		t.Fatal(err)
	}
	if got := collect(t, p, 256); !bytes.Equal(got, allValues()) {
		t.Errorf("got % x", got)
	}
}

func TestListenerCloses(t *testing.T) {
	l, err := Listen("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	accepted := make(chan error)
	go func() { _, err := l.Accept(); accepted <- err }()
	l.Close()
	want := "accept on " + l.Addr() + ": port is closed"
	if err := <-accepted; !errors.Is(err, ErrClosed) || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}
