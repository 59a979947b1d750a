//go:build !unix

package serialio

import (
	"errors"
	"runtime"
)

// NewPTY fails: there are no ptys here.
func NewPTY(link string) (*Port, error) {
	return nil, &OpError{Op: "make pty", Err: noPTY()}
}

func openSlave(name string, s Settings) (line, error) { return nil, noPTY() }

func noPTY() error {
	return errors.New("ptys are not available on " + runtime.GOOS)
}
