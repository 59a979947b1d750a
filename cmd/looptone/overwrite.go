package main

import (
	"os"
	"path/filepath"
)

// refuseSameFile refuses to write over a file that is read, or written as well.
func refuseSameFile(flag, file, what, other string) error {
	if isSameFile(file, other) {
		return usagef("%s would write over %s, %s", flag, what, other)
	}
	return nil
}

// isSameFile reports whether two names are of one file, which need not be there yet. None
// is "", and "-" is no file.
func isSameFile(one, other string) bool {
	if other == "" || other == "-" {
		return false
	}
	a, missing := os.Stat(one)
	b, too := os.Stat(other)
	if missing == nil && too == nil {
		return os.SameFile(a, b)
	}
	one, _ = filepath.Abs(one)
	other, _ = filepath.Abs(other)
	return missing != nil && too != nil && one == other
}
