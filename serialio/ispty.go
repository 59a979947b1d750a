package serialio

import (
	"path/filepath"
	"strings"
)

// IsPTY reports whether a name leads to a pty of Linux, behind which there is a
// program and no modem. What it is not sure of is none.
func IsPTY(name string) bool {
	target, err := filepath.EvalSymlinks(name)
	return err == nil && strings.HasPrefix(target, "/dev/pts/")
}
