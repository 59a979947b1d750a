//go:build unix

package serialio

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"syscall"

	"github.com/creack/pty"
	"go.bug.st/serial"
	"golang.org/x/sys/unix"
)

// NewPTY makes a kernel pty in raw mode and a symbolic link to the end that
// another program is to open. A dangling link of an earlier run is replaced,
// anything else is left alone. Close removes the link if it is still ours. An
// error is an [*OpError].
func NewPTY(link string) (*Port, error) {
	l, err := newMaster(link)
	if err != nil {
		return nil, &OpError{Op: "make pty", Err: err}
	}
	return newPort(link, l, Settings{}), nil
}

// master is our end of a pty. The other end stays open here too: without
// anybody there a read of ours would fail.
type master struct {
	*os.File
	slave *os.File
	link  string // empty until it is made
}

func newMaster(link string) (*master, error) {
	// First, as the new pty may be the one that a dangling link names.
	if err := clearLink(link); err != nil {
		return nil, err
	}
	ours, theirs, err := pty.Open()
	if err != nil {
		return nil, cause(err)
	}
	m := &master{slave: theirs}
	m.File, err = releasable(ours)
	if err == nil {
		err = makeRaw(theirs.Name(), Settings{})
	}
	if err == nil {
		err = m.makeLink(link)
	}
	if err != nil {
		m.Close()
		return nil, err
	}
	return m, nil
}

// releasable is f, which it closes, with reads and writes that Close and
// deadlines release; the pty library leaves it without.
func releasable(f *os.File) (*os.File, error) {
	defer f.Close()
	fd, err := unix.FcntlInt(f.Fd(), unix.F_DUPFD_CLOEXEC, 0)
	if err != nil {
		return nil, err
	}
	if err := unix.SetNonblock(fd, true); err != nil {
		unix.Close(fd)
		return nil, err
	}
	return os.NewFile(uintptr(fd), f.Name()), nil
}

func (m *master) Close() error {
	if target, err := os.Readlink(m.link); err == nil && target == m.slave.Name() {
		os.Remove(m.link)
	}
	m.slave.Close()
	return m.File.Close()
}

func (m *master) makeLink(link string) error {
	if err := os.Symlink(m.slave.Name(), link); err != nil {
		return fmt.Errorf("link %s: %w", link, cause(err))
	}
	m.link = link
	return nil
}

// clearLink makes room for a link, if only a dangling one stands there.
func clearLink(link string) error {
	if _, err := os.Lstat(link); err != nil {
		return nil
	}
	if !dangling(link) {
		return fmt.Errorf("link %s %w", link, ErrLinkExists)
	}
	if err := os.Remove(link); err != nil {
		return fmt.Errorf("link %s: %w", link, cause(err))
	}
	return nil
}

func dangling(link string) bool {
	_, readErr := os.Readlink(link)
	_, statErr := os.Stat(link)
	return readErr == nil && errors.Is(statErr, fs.ErrNotExist)
}

// openSlave opens the end of a pty that another program made. Reads and writes
// go through a descriptor of our own: those of the serial library cannot be
// released while nobody reads.
func openSlave(name string, s Settings) (line, error) {
	f, err := os.OpenFile(name, os.O_RDWR|syscall.O_NOCTTY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, err
	}
	if err := makeRaw(name, s); err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

// makeRaw gives a pty our settings and drops what waits in it. The settings
// belong to the pty and last while any descriptor of it is open.
func makeRaw(name string, s Settings) error {
	port, err := serial.Open(name, s.mode())
	if err != nil {
		return cause(err)
	}
	return errors.Join(port.ResetInputBuffer(), port.Close())
}
