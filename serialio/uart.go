package serialio

import (
	"errors"
	"io/fs"
	"os"
	"runtime"
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
	port, err := serial.Open(name, s.mode())
	if err != nil {
		return nil, err
	}
	if _, err := port.GetModemStatusBits(); errors.Is(err, syscall.ENOTTY) {
		port.Close()
		return openSlave(name, s)
	}
	if err := port.ResetInputBuffer(); err != nil {
		port.Close()
		return nil, err
	}
	return &uart{port}, nil
}

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
type uart struct{ serial.Port }

// SetWriteDeadline does nothing: a message fits the driver's buffer, which
// always drains, as there is no flow control.
func (u *uart) SetWriteDeadline(time.Time) error { return nil }

func (u *uart) Discard() error { return u.ResetOutputBuffer() }
