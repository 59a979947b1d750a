package statefile

import (
	"errors"
	"io/fs"
	"os"
)

// What can be wrong with a state file. An [Error] wraps one of these, or what
// the operating system said.
var (
	ErrInUse   = errors.New("in use by another process")
	ErrForeign = errors.New("not a state file")
	ErrNewer   = errors.New("a newer version wrote it")
	ErrDamaged = errors.New("damaged")
	ErrUnknown = errors.New("not in it")
	ErrClosed  = errors.New("closed")
)

// An Error says what is wrong with which state file.
type Error struct {
	Path string
	Err  error
}

func (e *Error) Error() string { return "state file " + e.Path + ": " + e.Err.Error() }

func (e *Error) Unwrap() error { return e.Err }

// cause strips what names the file a second time.
func cause(err error) error {
	if path, ok := errors.AsType[*fs.PathError](err); ok {
		return path.Err
	}
	if link, ok := errors.AsType[*os.LinkError](err); ok {
		return link.Err
	}
	return err
}
