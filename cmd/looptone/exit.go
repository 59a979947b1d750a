package main

import (
	"errors"
	"fmt"
	"io"
)

// What a command can end with besides being done.
var (
	errNobody      = errors.New("nobody answered")
	errNotInOrder  = errors.New("not in order") // said on the way, so not again
	errInterrupted = errors.New("interrupted before the work was done")
)

// usageError is a command line that makes no sense.
type usageError struct{ error }

func (e usageError) Unwrap() error { return e.error }

func usagef(format string, args ...any) error {
	return usageError{fmt.Errorf(format, args...)}
}

const exitCodes = `Exit codes:
  0    done
  1    could not be done
  2    wrong usage
  3    done, and what was looked at is not in order
  4    nobody answered
  130  interrupted before the work was done`

// exitCode says on stderr what went wrong with a command, if anything did, and is
// the program's exit code.
func exitCode(err error, command string, stderr io.Writer) int {
	if err == nil {
		return 0
	}
	if errors.Is(err, errNotInOrder) {
		return 3
	}
	fmt.Fprintf(stderr, "looptone: %v\n", err)
	var usage usageError
	switch {
	case errors.As(err, &usage):
		fmt.Fprintf(stderr, "looptone: see %s --help\n", command)
		return 2
	case errors.Is(err, errNobody):
		return 4
	case errors.Is(err, errInterrupted):
		return 130
	}
	return 1
}
