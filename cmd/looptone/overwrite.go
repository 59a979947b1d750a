package main

import "os"

// refuseSameFile refuses to write over a file that is read.
func refuseSameFile(flag, file, what, other string) error {
	a, err := os.Stat(file)
	if err != nil {
		return nil
	}
	if b, err := os.Stat(other); err == nil && os.SameFile(a, b) {
		return usagef("%s would write over %s, %s", flag, what, other)
	}
	return nil
}
