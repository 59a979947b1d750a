package userfile

import "fmt"

// An Error refuses a file, and says where and why.
type Error struct {
	File         string
	Line, Column int // from 1; columns count bytes; Line is 0 in the argument of a flag
	Err          error
}

func (e *Error) Error() string {
	if e.Line == 0 {
		return fmt.Sprintf("%s, column %d: %v", e.File, e.Column, e.Err)
	}
	return fmt.Sprintf("%s:%d:%d: %v", e.File, e.Line, e.Column, e.Err)
}

func (e *Error) Unwrap() error { return e.Err }
