package serialio

import (
	"errors"
	"io"
	"io/fs"
	"net"
	"os"
	"strings"
	"syscall"

	"go.bug.st/serial"
)

// What can be wrong with a port. An [OpError] wraps one of these, or what the
// operating system said.
var (
	ErrClosed     = errors.New("port is closed")
	ErrGone       = errors.New("the other end is gone")
	ErrBusy       = errors.New("busy: another program has it open")
	ErrNotPort    = errors.New("not a serial port or pty")
	ErrLinkExists = errors.New("exists already; remove it or choose another")
	ErrNoLines    = errors.New("there are no modem lines here, so no carrier to be seen")
)

// An OpError says what could not be done and with which port.
type OpError struct {
	Op   string // "open port", "send", …
	Port string // name or address; empty where Err names it
	Err  error
}

func (e *OpError) Error() string {
	if e.Port == "" {
		return e.Op + ": " + e.Err.Error()
	}
	return e.Op + " " + e.Port + ": " + e.Err.Error()
}

func (e *OpError) Unwrap() error { return e.Err }

// cause strips what names the operation or the port a second time, and says
// in our words what the libraries say in theirs.
func cause(err error) error {
	var (
		path   *fs.PathError
		link   *os.LinkError
		call   *os.SyscallError
		netErr *net.OpError
		port   *serial.PortError
	)
	switch {
	case errors.As(err, &path):
		return cause(path.Err)
	case errors.As(err, &link):
		return cause(link.Err)
	case errors.As(err, &netErr):
		return cause(netErr.Err)
	case errors.As(err, &call):
		return cause(call.Err)
	case errors.As(err, &port):
		return portCause(port)
	case errors.Is(err, net.ErrClosed), errors.Is(err, os.ErrClosed):
		return ErrClosed
	case isGone(err):
		return ErrGone
	}
	return err
}

// isGone: a tty whose other end was closed or unplugged says EIO.
func isGone(err error) bool {
	return errors.Is(err, io.EOF) || errors.Is(err, syscall.EIO) ||
		errors.Is(err, syscall.EPIPE) || errors.Is(err, syscall.ECONNRESET)
}

func portCause(err *serial.PortError) error {
	switch err.Code() {
	case serial.PortBusy:
		return ErrBusy
	case serial.PortNotFound:
		return fs.ErrNotExist
	case serial.PermissionDenied:
		return fs.ErrPermission
	case serial.PortClosed:
		return ErrGone // not by us: see Port.listen
	case serial.InvalidSerialPort:
		return ErrNotPort
	}
	return errors.New(strings.ToLower(err.Error()))
}
