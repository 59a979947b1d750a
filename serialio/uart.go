package serialio

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"runtime"
	"sync"
	"syscall"
	"time"

	"go.bug.st/serial"
)

// Open opens a serial port, or a pty that another program made, by its name or
// by a link to it. What had come in before is dropped. An error is an
// [*OpError].
func Open(name string, s Settings) (*Port, error) {
	l, err := openLine(name, s)
	if err != nil {
		return nil, &OpError{"open port", name, cause(err)}
	}
	return newPort(name, l, s), nil
}

func openLine(name string, s Settings) (line, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	if err := checkDevice(name); err != nil {
		return nil, err
	}
	claim, err := newClaim(name)
	if err != nil {
		return nil, err
	}
	l, err := openClaimed(name, s, claim)
	if err != nil {
		claim.release()
		return nil, err
	}
	return l, nil
}

func openClaimed(name string, s Settings, c *claim) (line, error) {
	port, err := serial.Open(name, s.mode())
	if err != nil {
		return nil, err
	}
	if _, err := port.GetModemStatusBits(); errors.Is(err, syscall.ENOTTY) {
		port.Close()
		return openWithoutLines(name, s, c)
	}
	u, err := newUART(port, s, c)
	if err != nil {
		port.Close()
		return nil, err
	}
	return u, nil
}

// openWithoutLines opens what is no UART, which is a pty.
func openWithoutLines(name string, s Settings, c *claim) (line, error) {
	l, err := openSlave(name, s)
	if err != nil {
		return nil, err
	}
	if err := settle(l, s.Modem); err != nil {
		l.Close()
		return nil, err
	}
	return &claimed{l, c}, nil
}

// claimed is a line of somebody who has claimed its device.
type claimed struct {
	line
	claim *claim
}

func (c *claimed) Close() error { return errors.Join(c.line.Close(), c.claim.release()) }

// checkDevice says what a name stands for that cannot be a port. Ports on
// Windows are no files.
func checkDevice(name string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	info, err := os.Stat(name)
	switch {
	case err != nil:
		return err
	case info.IsDir():
		return errors.New("is a directory, want a serial port or pty")
	case info.Mode().IsRegular():
		return errors.New("is a file, want a serial port or pty")
	case info.Mode()&fs.ModeCharDevice == 0:
		return errors.New("is no character device, want a serial port or pty")
	}
	return nil
}

// uart is a port whose hardware clocks the characters.
type uart struct {
	device
	claim  *claim
	marked bool // errors of characters come as marks

	lines  sync.Mutex // guards what follows, and the modem lines against Close
	closed bool
}

// device is what a uart needs of the serial library.
type device interface {
	io.ReadWriteCloser
	Drain() error
	ResetInputBuffer() error
	ResetOutputBuffer() error
	SetRTS(bool) error
	SetDTR(bool) error
	GetModemStatusBits() (*serial.ModemStatusBits, error)
}

// newUART leaves d and c open when it fails.
func newUART(d device, s Settings, c *claim) (*uart, error) {
	u := &uart{device: d, claim: c}
	var err error
	if u.marked, err = c.markErrors(); err != nil {
		return nil, err
	}
	if err := settle(u, s.Modem); err != nil {
		return nil, err
	}
	return u, d.ResetInputBuffer()
}

// SetWriteDeadline does nothing: a message fits the driver's buffer, which
// always drains, as there is no flow control.
func (u *uart) SetWriteDeadline(time.Time) error { return nil }

func (u *uart) Discard() error { return u.ResetOutputBuffer() }

func (u *uart) Drain() error {
	for {
		if err := u.device.Drain(); !errors.Is(err, syscall.EINTR) {
			return unplugged(err)
		}
	}
}

func (u *uart) marksErrors() bool { return u.marked }

// Write goes on where a signal has cut it short.
func (u *uart) Write(b []byte) (n int, err error) {
	for n < len(b) {
		k, err := u.device.Write(b[n:])
		n += k
		switch {
		case errors.Is(err, syscall.EINTR):
		case err != nil:
			return n, unplugged(err)
		case k == 0:
			return n, io.ErrShortWrite
		}
	}
	return n, nil
}

func (u *uart) SetRTS(on bool) error { return u.whileOpen(func() error { return u.device.SetRTS(on) }) }
func (u *uart) SetDTR(on bool) error { return u.whileOpen(func() error { return u.device.SetDTR(on) }) }

func (u *uart) Inputs() (on Lines, err error) {
	err = u.whileOpen(func() error {
		bits, err := u.GetModemStatusBits()
		if err == nil {
			on = inputs(bits)
		}
		return err
	})
	return on, err
}

func inputs(bits *serial.ModemStatusBits) (on Lines) {
	for line, is := range map[Lines]bool{DCD: bits.DCD, CTS: bits.CTS, DSR: bits.DSR, RI: bits.RI} {
		if is {
			on |= line
		}
	}
	return on
}

// whileOpen keeps do from reaching a descriptor that is closed, whose number may be
// that of something else by now.
func (u *uart) whileOpen(do func() error) error {
	u.lines.Lock()
	defer u.lines.Unlock()
	if u.closed {
		return ErrClosed
	}
	return unplugged(do())
}

func (u *uart) Close() error {
	u.lines.Lock()
	defer u.lines.Unlock()
	u.closed = true
	return errors.Join(u.device.Close(), u.claim.release())
}

// unplugged is what an adapter that was pulled out says in many ways.
func unplugged(err error) error {
	if errors.Is(err, syscall.ENXIO) || errors.Is(err, syscall.ENODEV) {
		return ErrGone
	}
	return err
}
