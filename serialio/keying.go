package serialio

import (
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
)

// MayKey reports whether opening the port of that name can key a modem: whether
// there is one, and it is not a pty of Linux, behind which there is a program.
func MayKey(name string) bool {
	if runtime.GOOS == "windows" {
		return true // its ports are no files that could be looked at
	}
	target, err := filepath.EvalSymlinks(name)
	if err != nil || strings.HasPrefix(target, "/dev/pts/") {
		return false
	}
	info, err := os.Stat(target)
	return err == nil && info.Mode()&fs.ModeCharDevice != 0
}
