package userfile

import "fmt"

// An Error refuses a file, and says where and why.
type Error struct {
	File         string
	Line, Column int // from 1; columns count bytes
	Err          error
}

func (e *Error) Error() string { return fmt.Sprintf("%s:%d:%d: %v", e.File, e.Line, e.Column, e.Err) }

func (e *Error) Unwrap() error { return e.Err }
