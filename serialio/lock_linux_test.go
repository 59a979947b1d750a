package serialio

import (
	"bufio"
	"errors"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"
)

// An opener is another process that has a port open, or could not open it.
type opener struct {
	cmd  *exec.Cmd
	said string // what it said of opening
	stop func() // has it close the port and end
}

// opens starts another process that opens a port; user is nil for the same user.
func opens(t *testing.T, port string, user *syscall.Credential) *opener {
	t.Helper()
	cmd := exec.Command("/proc/self/exe") // by this name anybody may run it, wherever it stands
	cmd.Dir = "/"
	cmd.Env = append(os.Environ(), openerEnv+"="+port, "GORACE=atexit_sleep_ms=0")
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: user}
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	o := &opener{cmd: cmd}
	o.stop = func() { in.Close(); cmd.Wait() }
	t.Cleanup(o.stop)
	said, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatalf("another process says nothing of opening the port: %v", err)
	}
	o.said = strings.TrimSpace(said)
	return o
}

// somePTY is a pty that anybody may open.
func somePTY(t *testing.T) (name string, slave *os.File) {
	t.Helper()
	ours, slave, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { ours.Close(); slave.Close() })
	if err := os.Chmod(slave.Name(), 0o666); err != nil {
		t.Fatal(err)
	}
	return slave.Name(), slave
}

func busy(name string) string {
	return "open port " + name + ": busy: another program has it open"
}

func TestOneUserAtATime(t *testing.T) {
	name, _ := somePTY(t)
	p, err := Open(name, Settings{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Open(name, Settings{}); !errors.Is(err, ErrBusy) || err.Error() != busy(name) {
		t.Errorf("the same process: got %v", err)
	}
	if o := opens(t, name, nil); o.said != busy(name) {
		t.Errorf("another process: got %s", o.said)
	}
	p.Close()
	o := opens(t, name, nil)
	if o.said != "<nil>" {
		t.Errorf("behind Close: got %s", o.said)
	}
	if _, err := Open(name, Settings{}); !errors.Is(err, ErrBusy) {
		t.Errorf("another process has it: got %v", err)
	}
	o.stop()
	reopens(t, name)
}

func reopens(t *testing.T, name string) {
	t.Helper()
	p, err := Open(name, Settings{})
	if err != nil {
		t.Fatal(err)
	}
	p.Close()
}

func TestLockEndsWithItsProcess(t *testing.T) {
	name, _ := somePTY(t)
	o := opens(t, name, nil)
	if o.said != "<nil>" {
		t.Fatal(o.said)
	}
	if _, err := Open(name, Settings{}); !errors.Is(err, ErrBusy) {
		t.Fatalf("got %v, want %v", err, ErrBusy)
	}
	o.cmd.Process.Kill()
	o.cmd.Wait()
	reopens(t, name)
}

// A program that was started while a port was open does not keep it.
func TestLockIsNotInherited(t *testing.T) {
	name, _ := somePTY(t)
	p, err := Open(name, Settings{})
	if err != nil {
		t.Fatal(err)
	}
	other, _ := somePTY(t)
	opens(t, other, nil)
	p.Close()
	reopens(t, name)
}

func TestWhatIsNoPortIsNotLocked(t *testing.T) {
	null, err := os.Open(os.DevNull)
	if err != nil {
		t.Fatal(err)
	}
	defer null.Close()
	if err := unix.Flock(int(null.Fd()), unix.LOCK_SH); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(os.DevNull, Settings{}); !errors.Is(err, ErrNotPort) {
		t.Errorf("got %v, want %v", err, ErrNotPort)
	}
}

// TestOtherUsersWait needs root to be somebody else, and to be stopped by nothing but a
// lock of our own.
func TestOtherUsersWait(t *testing.T) {
	if os.Getuid() != 0 {
		if os.Getenv("CI") == "1" || os.Getenv("CI") == "true" {
			t.Fatal("needs root")
		}
		t.Skip("needs root")
	}
	nobody := &syscall.Credential{Uid: 65534, Gid: 65534}
	t.Run("root has it", func(t *testing.T) {
		name, _ := somePTY(t)
		p, err := Open(name, Settings{})
		if err != nil {
			t.Fatal(err)
		}
		if o := opens(t, name, nobody); o.said != busy(name) {
			t.Errorf("got %s", o.said)
		}
		p.Close()
		if o := opens(t, name, nobody); o.said != "<nil>" {
			t.Errorf("behind Close: got %s", o.said)
		}
	})
	t.Run("root comes second", func(t *testing.T) {
		name, _ := somePTY(t)
		if o := opens(t, name, nobody); o.said != "<nil>" {
			t.Fatal(o.said)
		}
		if _, err := Open(name, Settings{}); !errors.Is(err, ErrBusy) {
			t.Errorf("got %v, want %v", err, ErrBusy)
		}
	})
	// Programs that know nothing of flock lock the port in the kernel (TIOCEXCL), which
	// stops all but root.
	t.Run("another program has it", func(t *testing.T) {
		name, slave := somePTY(t)
		if err := unix.IoctlSetInt(int(slave.Fd()), unix.TIOCEXCL, 0); err != nil {
			t.Fatal(err)
		}
		if o := opens(t, name, nobody); o.said != busy(name) {
			t.Errorf("got %s", o.said)
		}
	})
	t.Run("no right to open it", func(t *testing.T) {
		name, _ := somePTY(t)
		if err := os.Chmod(name, 0o600); err != nil {
			t.Fatal(err)
		}
		if o := opens(t, name, nobody); o.said != "open port "+name+": permission denied" {
			t.Errorf("got %s", o.said)
		}
	})
}

// Who comes second changes nothing about the port that the first one uses.
func TestPortInUseIsNotTouched(t *testing.T) {
	name, slave := somePTY(t)
	p, err := Open(name, Settings{})
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close()
	before, err := unix.IoctlGetTermios(int(slave.Fd()), unix.TCGETS)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Open(name, Settings{Baud: 9600, Parity: Even}); !errors.Is(err, ErrBusy) {
		t.Errorf("got %v, want %v", err, ErrBusy)
	}
	now, err := unix.IoctlGetTermios(int(slave.Fd()), unix.TCGETS)
	if err != nil || *now != *before {
		t.Errorf("settings %+v became %+v, %v", before, now, err)
	}
}

func TestCarrierOfAPTYIsRefused(t *testing.T) {
	name, _ := somePTY(t)
	_, err := Open(name, Settings{Modem: Modem{Carrier: DCD}})
	want := "open port " + name + ": there are no modem lines here, so no carrier to be seen"
	if !errors.Is(err, ErrNoLines) || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
	p, err := Open(name, Settings{Modem: keying})
	if err != nil {
		t.Fatal(err)
	}
	p.Close()
}
