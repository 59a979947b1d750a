//go:build unix

package serialio

import (
	"errors"

	"golang.org/x/sys/unix"
)

// A claim is a descriptor of a device beside that which carries the characters. While
// it is open the device is locked (flock), so that only one user has it: the kernel's
// own lock (TIOCEXCL) does not stop root, and a pty has none. The lock ends with the
// process, however that ends.
type claim struct{ fd int }

// newClaim must come before whatever else is done with the device, as the settings of
// a port that is in use are not to be touched.
func newClaim(name string) (*claim, error) {
	fd, err := open(name)
	switch {
	case errors.Is(err, unix.EBUSY):
		return nil, ErrBusy
	case err != nil:
		return nil, err
	}
	if err := lock(fd); err != nil {
		unix.Close(fd)
		return nil, err
	}
	return &claim{fd}, nil
}

// lock leaves alone what is no tty.
func lock(fd int) error {
	if _, err := unix.IoctlGetWinsize(fd, unix.TIOCGWINSZ); errors.Is(err, unix.ENOTTY) {
		return ErrNotPort
	}
	err := unix.Flock(fd, unix.LOCK_EX|unix.LOCK_NB)
	switch {
	case errors.Is(err, unix.EWOULDBLOCK):
		return ErrBusy
	case errors.Is(err, unix.ENOTSUP):
		return nil // not every system locks devices
	}
	return err
}

// open does not wait for a carrier, nor make the device the terminal of the process.
func open(name string) (fd int, err error) {
	for {
		fd, err = unix.Open(name, unix.O_RDWR|unix.O_NOCTTY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
		if !errors.Is(err, unix.EINTR) {
			return fd, err
		}
	}
}

// markErrors reports whether characters will come with marks of their errors.
func (c *claim) markErrors() (bool, error) { return markErrors(c.fd) }

func (c *claim) release() error { return unix.Close(c.fd) }
