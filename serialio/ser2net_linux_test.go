package serialio

import (
	"bytes"
	"errors"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

// ser2net starts Debian's ser2net on a pty made here, with that telnet accepter, and
// gives where it listens.
func ser2net(t *testing.T, link, accepter string) (addr string) {
	t.Helper()
	program, err := exec.LookPath("ser2net")
	if err != nil {
		if ci := os.Getenv("CI"); ci == "1" || ci == "true" {
			t.Fatal(err)
		}
		t.Skip(err)
	}
	addr = addressOfNobody(t)
	host, port, err := net.SplitHostPort(addr)
	if err != nil {
		t.Fatal(err)
	}
	config := filepath.Join(t.TempDir(), "ser2net.yaml")
	text := fmt.Sprintf("%%YAML 1.1\n---\nconnection: &port\n  accepter: %s,tcp,%s,%s\n  connector: serialdev,%s,9600n81,local\n", accepter, host, port, link)
	if err := os.WriteFile(config, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(program, "-d", "-n", "-u", "-c", config) // stay here, without lock files
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		cmd.Process.Kill()
		cmd.Wait()
	})
	for deadline := time.Now().Add(10 * time.Second); ; {
		conn, err := net.Dial("tcp", addr)
		if err == nil {
			conn.Close()
			return addr
		}
		if time.Now().After(deadline) {
			t.Fatal(err)
		}
	}
}

// ser2net has been written by somebody else from the same document. Characters of all
// values pass both ways, and the tty behind it has the settings that were asked for, as
// the kernel says: speed and parity, of which a pty keeps only which one it would be.
func TestPTYBehindSer2net(t *testing.T) {
	link := filepath.Join(t.TempDir(), "line")
	ours, err := NewPTY(link)
	if err != nil {
		t.Fatal(err)
	}
	defer ours.Close()
	addr := ser2net(t, link, "telnet(rfc2217=true)")
	for i, tt := range []struct {
		settings Settings
		speed    uint32
		odd      bool
	}{
		{Settings{}, unix.B1200, true},
		{Settings{Baud: 2400, Parity: Even}, unix.B2400, false},
		{Settings{Parity: NoParity, Modem: Modem{RTS: RTSKeys}}, unix.B1200, false},
		{Settings{Modem: Modem{Carrier: CTS}}, unix.B1200, true}, // which never comes
	} {
		p := dialSoon(t, addr, tt.settings)
		if got := ttyOf(t, link); got.Cflag&unix.CBAUD != tt.speed || (got.Cflag&unix.PARODD != 0) != tt.odd || got.Cflag&unix.CSIZE != unix.CS8 || got.Cflag&unix.CSTOPB != 0 {
			t.Errorf("%+v: the tty has %#o", tt.settings, got.Cflag)
		}
		chars := allValues()
		if i > 0 {
			chars = chars[240:] // as a message takes its time
		}
		send := func(from, to *Port) {
			t.Helper()
			if err := from.Send(t.Context(), overdue, 0, 0, chars); err != nil {
				t.Fatal(err)
			}
			if got := collect(t, to, len(chars)); !bytes.Equal(got, chars) {
				t.Errorf("%s to %s: got % x", from.Name(), to.Name(), got)
			}
		}
		send(p, ours)
		if tt.settings.Modem.Carrier == 0 {
			send(ours, p)
		}
		p.Close()
	}
}

// dialSoon dials until the server is free of the client before.
func dialSoon(t *testing.T, addr string, s Settings) *Port {
	t.Helper()
	for deadline := time.Now().Add(10 * time.Second); ; {
		p, err := DialRFC2217(t.Context(), addr, s)
		if err == nil {
			return p
		}
		if !errors.Is(err, ErrGone) || time.Now().After(deadline) {
			t.Fatal(err)
		}
	}
}

// ttyOf is how a tty is set.
func ttyOf(t *testing.T, name string) *unix.Termios {
	t.Helper()
	f, err := os.OpenFile(name, os.O_RDWR|unix.O_NOCTTY|unix.O_NONBLOCK, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	settings, err := unix.IoctlGetTermios(int(f.Fd()), unix.TCGETS)
	if err != nil {
		t.Fatal(err)
	}
	return settings
}

func TestSer2netThatDoesNotLetItsPortBeSet(t *testing.T) {
	link := filepath.Join(t.TempDir(), "line")
	ours, err := NewPTY(link)
	if err != nil {
		t.Fatal(err)
	}
	defer ours.Close()
	addr := ser2net(t, link, "telnet(rfc2217=false)")
	for deadline := time.Now().Add(10 * time.Second); ; {
		p, err := DialRFC2217(t.Context(), addr, Settings{})
		switch {
		case errors.Is(err, ErrNotSettable):
			return
		case err == nil:
			p.Close()
			t.Fatal("it was set")
		case !errors.Is(err, ErrGone) || time.Now().After(deadline):
			t.Fatal(err)
		}
	}
}
